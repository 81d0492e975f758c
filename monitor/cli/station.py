"""``monitor station``: the hub and the desk of a real unit. The hub is started again if it dies."""

import argparse
import os
import sys
from pathlib import Path

from monitor.cli.children import Children
from monitor.cli.desk import add_after_argument, add_desk_arguments, desk_options, picture_is_due
from monitor.cli.desk_keys import add_key_arguments, form_options, keys_given, take_from_folder
from monitor.cli.drilling.processes import DrillProcesses
from monitor.cli.entry_form import EntryForm
from monitor.cli.first_run.writing import first_folder, is_missing
from monitor.cli.language import speak_of, speak_of_the_machine
from monitor.cli.paths import CONFIG, OWN
from monitor.core.endpoints import Endpoints
from monitor.desk.opening import run_desk
from monitor.desk.unit_desk import HubGiven
from monitor.settings import load_configuration
from monitor.settings.card_files import cards_in
from shared.errors import ConfigurationError
from shared.keys import reached_at
from shared.stopping import StopRequested


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Run the hub and the desk of the unit that the configuration describes. Feeds connect by themselves. "
        "Second look only: the bedside console is the alarm."
    )
    parser.add_argument(
        "--config",
        type=Path,
        default=Path(OWN),
        metavar="DIR",
        help=f"default: {OWN}; where there is none, six questions write it",
    )
    parser.add_argument(
        "--record", type=Path, default=Path("run/record.db"), metavar="FILE", help="default: run/record.db"
    )
    parser.add_argument(
        "--sheets",
        type=Path,
        metavar="DIR",
        help="for downtime sheets (default: sheets beside the record)",
    )
    add_key_arguments(parser)
    add_desk_arguments(parser)
    add_after_argument(parser)


def run(args: argparse.Namespace) -> int:
    """Show the desk until its window is closed; the hub ends with it. Without a configuration, ask for one first.

    Raises:
        ConfigurationError: the configuration is wrong or nobody wants one, keys cannot be used, or the picture
            could not be written.
    """
    if is_missing(args.config):
        if not (sys.stdin.isatty() and sys.stdout.isatty()):
            raise ConfigurationError(
                f"there is no configuration in {args.config}/. Start this at a terminal, and six questions write "
                f"one; or name yours: --config DIR. {CONFIG} is an invented unit, to read."
            )
        first_folder(args.config, CONFIG, input, print, speak_of_the_machine(os.environ, CONFIG))
    configuration = load_configuration(args.config)
    take_from_folder(args)
    keys, endpoints = keys_given(args), reached_from_here(configuration.unit.endpoints)
    hub = ["monitor", "hub", "--config", str(args.config.resolve()), "--record", str(args.record.resolve())]
    hub += ["--sheets", str((args.sheets or args.record.parent / "sheets").resolve())]
    speak_of(args.config)
    form = ["--config", str(args.config.resolve())]
    form += [*form_options(args), "--journal", str(args.record.resolve().parent / "feeds" / "entered.journal")]
    log = args.record.resolve().with_suffix(".form.log")
    drills = args.record.resolve().parent / "drills"
    with (
        StopRequested() as stop,
        Children() as children,
        EntryForm(form, log) as entry_form,
        DrillProcesses(args.config, configuration.unit, drills) as drill,
    ):
        children.start("hub", hub, args.record.resolve().with_suffix(".hub.log"))
        over = picture_is_due(args)
        done = run_desk(
            [HubGiven(endpoints, keys, lambda: cards_in(args.config))],
            desk_options(args),
            stop=stop,
            over=over,
            watch=children.watch,
            open_form=entry_form.open,
            drill=drill,
        )
    if not done:
        raise ConfigurationError(f"--picture {args.picture}: could not be written")
    return 0


def reached_from_here(endpoints: Endpoints) -> Endpoints:
    """Give where a desk on the hub's own machine connects."""
    return Endpoints(**{room: reached_at(address) for room, address in endpoints.model_dump().items()})
