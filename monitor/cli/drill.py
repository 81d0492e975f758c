"""``monitor drill``: people practise with invented beds, beside the unit's live ones or where nobody is watched."""

import argparse
import socket
from pathlib import Path
from urllib.parse import urlsplit

from monitor.cli.desk import add_desk_arguments, cards_of, desk_options, picture_is_due
from monitor.cli.desk_keys import add_key_arguments, keys_given, take_from_folder
from monitor.cli.drilling.after import write_after
from monitor.cli.drilling.folder import Practised, course_of, courses_in
from monitor.cli.drilling.processes import DrillProcesses
from monitor.cli.paths import CONFIG, own_or_shipped
from monitor.cli.station import reached_from_here
from monitor.desk.opening import run_desk
from monitor.desk.unit_desk import HubGiven
from monitor.settings import load_configuration
from shared.cautions import DRILL, SECOND_LOOK
from shared.errors import ConfigurationError
from shared.stopping import StopRequested

#: Beside the unit's record, in a folder of its own.
INTO = Path("run/drills")
_THERE_WITHIN_S = 2.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Practise with invented beds under a band that says TEST, with a hub and a record of their own. Where the "
        "unit's hub watches live beds they stay in sight, two people of the unit begin the drill (key F9), and a "
        "live high takes the desk at once. What was done is written beside the drill's record."
    )
    parser.add_argument(
        "course", nargs="?", metavar="SCENARIO", help="a name of those in CONFIG/drills, or a scenario file"
    )
    parser.add_argument(
        "--config", type=Path, default=own_or_shipped(), metavar="DIR", help="of the unit that practises"
    )
    parser.add_argument(
        "--alone", action="store_true", help="nobody is watched at this desk: no live unit beside it"
    )
    parser.add_argument("--into", type=Path, default=INTO, metavar="DIR", help=f"for drills (default: {INTO})")
    parser.add_argument(
        "--after", dest="done", type=Path, metavar="FOLDER", help="of a drill: write down again what was done"
    )
    parser.add_argument("--list", action="store_true", help="what can be practised")
    add_key_arguments(parser)
    add_desk_arguments(parser)
    parser.add_argument("--wait", type=float, default=5.0, metavar="SECONDS", help="with --picture: wait so long")


def run(args: argparse.Namespace) -> int:
    """Open the desk and stay until it is closed, or write down once more what was done in a drill.

    Raises:
        ConfigurationError: there is no such drill, nobody says that no live bed is watched here, or keys cannot be
            used.
        RecordError: there is no room for a drill, or no record of one.
    """
    if args.done is not None:
        written = write_after(args.done)
        print(written.read_text(encoding="utf-8"), end="")
        return 0
    if args.list:
        print("\n".join(f"{one.name:<24}{one.title}" for one in courses_in(args.config)))
        return 0
    course = _course(args)
    is_unit = args.config.resolve() != CONFIG
    configuration = load_configuration(args.config)
    unit = configuration.unit if is_unit else None
    print(f"{DRILL} {SECOND_LOOK}", flush=True)
    hubs = []
    if not args.alone:
        if unit is None:
            raise ConfigurationError(
                "which unit is watched here? Give its configuration (--config DIR), or say that nobody is: --alone"
            )
        take_from_folder(args)
        hubs = [HubGiven(reached_from_here(unit.endpoints), keys_given(args), lambda: cards_of(args.config))]
    elif unit is not None and is_there(reached_from_here(unit.endpoints).commands):
        raise ConfigurationError(
            f"--alone: the hub of {unit.name} answers on this machine, so live beds are watched here: leave it out"
        )
    elif course is None:
        names = ", ".join(one.name for one in courses_in(args.config))
        raise ConfigurationError(f"which drill? One of {names}")
    with StopRequested() as stop, DrillProcesses(args.config, unit, args.into, course) as drill:
        args.after = args.wait
        done = run_desk(
            hubs,
            desk_options(args),
            stop=stop,
            over=picture_is_due(args),
            drill=drill,
            course=course.name if course is not None else "",
        )
    if drill.folder is not None:
        print(f"Drill   what was done is in {drill.folder}")
    if not done:
        raise ConfigurationError(f"--picture {args.picture}: could not be written")
    return 0


def is_there(address: str) -> bool:
    """Tell whether anything listens at an address such as ``tcp://127.0.0.1:17314``."""
    parts = urlsplit(address)
    try:
        with socket.create_connection((parts.hostname, parts.port), timeout=_THERE_WITHIN_S):
            return True
    except (OSError, ValueError):
        return False


def _course(args: argparse.Namespace) -> Practised | None:
    """Give the course that is asked for: by its name, by the beginning of it, or by its file."""
    if args.course is None:
        return None
    known = courses_in(args.config)
    found = [one for one in known if one.name == args.course] or [
        one for one in known if one.name.startswith(args.course)
    ]
    if len(found) == 1:
        return found[0]
    if Path(args.course).is_file():
        return course_of(Path(args.course))
    names = ", ".join(one.name for one in found or known)
    raise ConfigurationError(f"drill {args.course}: there is {'more than one' if found else 'none'}; {names}")
