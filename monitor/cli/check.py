"""``monitor check``: every fault of a configuration folder in one pass, or what it says, and this machine.

What is found on the machine (sound, room, keys, the hub) is no fault of the configuration and changes no status.
"""

import argparse
import sys
from collections import Counter
from collections.abc import Sequence
from pathlib import Path

from monitor.cli.checking.found import Found
from monitor.cli.checking.hub_answer import hub_found
from monitor.cli.checking.room import room_found
from monitor.cli.checking.secret_files import keys_found
from monitor.cli.checking.sound_report import sound_found, sound_report
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
RECORD = Path("run/record.db")


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    parser.add_argument(
        "--config",
        type=Path,
        default=own_or_shipped(),
        metavar="DIR",
        help="the configuration folder (default: unit, else the shipped one)",
    )
    parser.add_argument(
        "--record", type=Path, default=RECORD, metavar="FILE", help=f"where it is or will be (default: {RECORD})"
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
    print(machine_words(on_this_machine(args.config, args.record, found, found.configuration)))
    print("Limits and timers are settings, not advice. The bedside console is the alarm.")
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
        f"Also    pump profiles: {found.pumps}, scenarios: {found.scenarios}, drills: {found.drills}, "
        f"column maps: {found.maps}",
    ]
    holes = list(holes_in(unit))
    lines.append("Cover   " + ("no holes" if not holes else f"{len(holes)} holes" if len(holes) > 1 else "1 hole"))
    lines += [f"        {hole}" for hole in holes]
    first, *more = language_words(folder)
    lines += [f"Screens {first}", *(f"        {line}" for line in more)]
    return "\n".join(lines)


def on_this_machine(folder: Path, record: Path, found: Examination, configuration: Configuration) -> list[Found]:
    """Look at what the unit needs of this machine besides."""
    unit = configuration.unit
    return [
        Found("Screen", tuple(screen_words(found.screen, screen_report()))),
        _font_found(),
        sound_found(sound_report()),
        room_found(unit, record),
        keys_found(folder, unit.endpoints),
        hub_found(unit, folder),
    ]


def machine_words(found: Sequence[Found]) -> str:
    """Say all of it, and first how much of it somebody has to look at."""
    wrong = [one.about for one in found if one.is_wrong]
    lines = ["On this machine" + (f", LOOK AT: {', '.join(wrong)}" if wrong else "")]
    for one in found:
        first, *more = one.lines
        lines += [f"{one.about:<8}{first}", *(f"        {line}" for line in more)]
    return "\n".join(lines)


def _card_words(found: Examination) -> str:
    """Say how many emergency cards there are, and which nobody has approved."""
    if not found.cards:
        return "none: there are no emergency cards in cards/"
    waiting = [card.title for card in found.cards.values() if not card.approved_by]
    said = f"; approved by nobody yet: {', '.join(waiting)}" if waiting else ""
    return f"{len(found.cards)} emergency cards{said}"


def _font_found() -> Found:
    """Say whether the screens' own font is there, and what to do where it is not."""
    if own_font() is not None:
        return Found("Font", (f"{FAMILY}, the program's own",))
    said = f"MISSING: no {FAMILY} in shared/look/fonts. {FALLBACK} is used: words may be cut."
    return Found("Font", (f"{said} Copy the program anew.",), is_wrong=True)


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
