"""``monitor check``: every fault of a configuration folder in one pass, or a short word of what it says."""

import argparse
import sys
from collections import Counter
from pathlib import Path

from monitor.cli.language import language_words
from monitor.cli.paths import own_or_shipped
from monitor.cli.screen import screen_words
from monitor.cli.screen_report import screen_report
from monitor.core.unit import Configuration
from monitor.desk.paint.fonts import FALLBACK, FAMILY, own_font
from monitor.settings.examine import Examination, examine
from monitor.settings.holes import holes_in
from monitor.settings.loading import CARDS
from shared.errors import ConfigurationError
from shared.support import SUPPORT_LABEL

SOUND, FAULTY, NO_FOLDER = 0, 1, 2


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "--config",
        type=Path,
        default=own_or_shipped(),
        metavar="DIR",
        help="the configuration folder (default: unit, else the shipped one)",
    )


def run(args: argparse.Namespace) -> int:
    """Check a folder. Gives 0 without faults, 1 with faults (one line each), 2 where the folder is not there."""
    try:
        found = examine(args.config)
    except ConfigurationError as error:
        print(f"check: {error}", file=sys.stderr)
        return NO_FOLDER
    if found.configuration is None or found.faults:
        for fault in found.faults:
            print(fault)
        count = len(found.faults)
        hides = all(fault.file.startswith(f"{CARDS}/") for fault in found.faults)
        then = (
            "These cards are not shown; all else starts." if hides else "Nothing starts before they are put right."
        )
        print(f"{count} fault{'' if count == 1 else 's'} in {args.config}. {then}")
        return FAULTY
    print(summary(args.config, found, found.configuration))
    return SOUND


def summary(folder: Path, found: Examination, configuration: Configuration) -> str:
    """Say in a few lines what the configuration holds, the holes in its cover included."""
    unit = configuration.unit
    priorities = Counter(rule.priority.value for rule in configuration.limits.rules)
    lines = [
        f"No faults in {folder}.",
        f"Unit    {unit.name}",
        f"Beds    {len(unit.beds)}: {', '.join(_bed_words(configuration))}",
        f"People  {len(unit.people)}, {sum(person.in_unit for person in unit.people)} of them in the unit",
        f"Rules   {len(configuration.limits.rules)}: "
        + ", ".join(f"{priorities[grade]} {grade}" for grade in ("high", "medium", "low")),
        f"Hints   {_hint_words(configuration)}",
        f"Rounds  {f'{found.entry_fields} fields' if found.entry_fields else 'none: there is no entry.toml'}",
        f"Cards   {_card_words(found)}",
        *_screen_lines(found),
        f"Font    {_font_words()}",
        f"Also    pump profiles: {found.pumps}, scenarios: {found.scenarios}, drills: {found.drills}, "
        f"column maps: {found.maps}",
    ]
    holes = list(holes_in(unit))
    lines.append("Cover   " + ("no holes" if not holes else f"{len(holes)} holes" if len(holes) > 1 else "1 hole"))
    lines += [f"        {hole}" for hole in holes]
    first, *more = language_words(folder)
    lines += [f"Screens {first}", *(f"        {line}" for line in more)]
    lines.append("Limits and timers are settings, not advice. The bedside console is the alarm.")
    return "\n".join(lines)


def _card_words(found: Examination) -> str:
    """Say how many emergency cards there are, and which nobody has approved."""
    if not found.cards:
        return "none: there are no emergency cards in cards/"
    waiting = [card.title for card in found.cards.values() if not card.approved_by]
    said = f"; approved by nobody yet: {', '.join(waiting)}" if waiting else ""
    return f"{len(found.cards)} emergency cards{said}"


def _screen_lines(found: Examination) -> list[str]:
    first, *others = screen_words(found.screen, screen_report())
    return [f"Screen  {first}", *(f"        {line}" for line in others)]


def _font_words() -> str:
    """Say whether the screens' own font is there, and what to do where it is not."""
    own = own_font()
    if own is not None:
        return f"{FAMILY}, the program's own"
    return (
        f"MISSING: no {FAMILY} in shared/look/fonts. {FALLBACK} is used: words may be cut. Copy the program anew."
    )


def _hint_words(configuration: Configuration) -> str:
    """Say which patterns hints can follow from."""
    letters = "".join(row.id for row in configuration.patterns.pattern)
    return f"{len(letters)} patterns: {letters}" if letters else "none: there is no patterns.toml"


def _bed_words(configuration: Configuration) -> list[str]:
    words = []
    for bed in configuration.unit.beds:
        runs = " + ".join(SUPPORT_LABEL[run.description.support] for run in bed.runs) or "empty"
        words.append(f"{bed.label} {runs}{' (by hand)' if bed.entered_by_hand else ''}")
    return words
