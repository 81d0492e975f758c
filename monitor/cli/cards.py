"""``monitor cards``: the unit's emergency cards on paper, a page each."""

import argparse
import sys
from pathlib import Path

from monitor.cli.paths import OWN, own_or_shipped
from monitor.reports.emergency.pages import write_cards
from monitor.settings.card_files import cards_in
from monitor.settings.loading import load_configuration, texts_in
from shared.errors import ConfigurationError
from shared.written.faults import SettingsError


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "The emergency cards of a unit on paper: the unit's own text, one card a page, black and white, with a box "
        "to tick before each step. Nothing in them is generated; a card that nobody has approved says so."
    )
    parser.add_argument(
        "--config", type=Path, default=own_or_shipped(), metavar="DIR", help=f"default: {OWN}, else the shipped one"
    )
    parser.add_argument("--pdf", type=Path, required=True, metavar="FILE", help="write the pages there")


def run(args: argparse.Namespace) -> int:
    """Print every card.

    Raises:
        ConfigurationError: there are none, or one of them has a fault: none is printed half.
        RecordError: the file cannot be written.
    """
    unit = load_configuration(args.config).unit
    found = cards_in(args.config)
    if found.faults:
        raise SettingsError(found.faults)
    if not found.cards:
        raise ConfigurationError(f"{args.config} has no emergency cards: they are files in its folder cards")
    pages = write_cards(args.pdf, unit.name, tuple(found.cards.values()), texts_in(args.config))
    print(f"{args.pdf}: {pages} pages", file=sys.stderr)
    return 0
