"""``monitor demo``: twelve invented beds, their hub and a desk, all on this machine. Everything is simulated.

With ``--entry`` a unit without cables instead: a night of rounds by hand is played into its record first.
"""

import argparse
import math
import tempfile
import time
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path

from monitor.cli.children import Children
from monitor.cli.demo_folder import make_folder, make_secrets
from monitor.cli.desk import add_desk_arguments, desk_options
from monitor.cli.entry_form import EntryForm
from monitor.cli.language import speak_of
from monitor.cli.paths import CONFIG
from monitor.cli.played_record import write_record
from monitor.cli.ports import free_endpoints
from monitor.core.endpoints import Endpoints
from monitor.desk.opening import run_desk
from monitor.desk.session import Session
from monitor.desk.unit_desk import HubGiven
from monitor.settings import load_configuration, load_entry_in, texts_in
from monitor.settings.card_files import cards_in
from shared.errors import ConfigurationError, RecordError
from shared.instant import MINUTE, Instant
from shared.scenario import Scenario, parse_scenario
from shared.stopping import StopRequested

_CAUTION = (
    "Weirkeeper demonstration: everything is simulated. Not a medical device. Second look only: the bedside "
    "console is the alarm."
)
_SECRETS = "Invented secrets of invented people, for this demonstration alone:"
_PLAYED = (
    "The last {hours:.0f} h are played first: every number is read off a simulated circuit and typed. From then on "
    "nobody enters anything but you (key I).\nIts record, until the end of the demonstration: {record}"
)
_BEDS = 12
#: The trends of a tile show two hours: so long have the beds been running when the demonstration begins.
_LEAD_MINUTES = 120


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = _CAUTION
    parser.add_argument("--beds", type=int, metavar="N", help="default: 12")
    parser.add_argument(
        "--entry",
        type=float,
        nargs="?",
        const=math.inf,
        metavar="MINUTES",
        help="a unit without cables after a night of rounds by hand, or as it stood so long after its beginning",
    )
    parser.add_argument("--speed", type=float, default=1.0, metavar="X", help="run X times faster (default: 1)")
    parser.add_argument("--minutes", type=float, metavar="M", help="leave after M minutes of the demonstration")
    parser.add_argument("--scenario", type=Path, metavar="FILE", help="another scenario than the shipped one")
    parser.add_argument("--secrets", action="store_true", help="ask for invented secrets, which are printed")
    parser.add_argument("--tour", action="store_true", help="a guided tour, a step at a time, under the board")
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")
    add_desk_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Show the demonstration until the window is closed, Ctrl-C, or the minutes are over.

    Raises:
        ConfigurationError: an option or the scenario is wrong, or the picture could not be written.
        RecordError: there is no room for the demonstration's own files.
    """
    if args.entry is not None and args.beds is not None:
        raise ConfigurationError("--beds and --entry do not go together: the night was played at its own beds")
    if args.entry is not None and not args.entry > 0:
        raise ConfigurationError(f"--entry {args.entry:g}: minutes from the beginning of the night")
    if args.beds is not None and not 1 <= args.beds <= 64:
        raise ConfigurationError(f"--beds {args.beds}: allowed 1 to 64")
    if not 0.1 <= args.speed <= 100:
        raise ConfigurationError(f"--speed {args.speed:g}: allowed 0.1 to 100")
    print(_CAUTION, flush=True)
    with (
        StopRequested() as stop,
        tempfile.TemporaryDirectory(prefix="weirkeeper-demo-") as name,
        Children() as children,
        ExitStack() as exits,
    ):
        folder, endpoints = Path(name), free_endpoints()
        start = time.time_ns() // 1_000_000
        try:
            scenario = _made(args, endpoints, folder, start)
            if args.secrets:
                print(_SECRETS, *make_secrets(scenario, folder), sep="\n", flush=True)
        except OSError as error:
            raise RecordError(f"the demonstration needs some room in {folder}: {error}") from None
        speak_of(args.config)  # after what was played: a record is in the source language
        clock = ["--start", str(start), "--speed", f"{args.speed:g}"]
        hub = ["monitor", "hub", "--config", str(folder), "--record", str(folder / "record.db")]
        children.start("hub", [*hub, *clock], folder / "hub.log")
        if args.entry is None:
            feed = ["feeds", "simulate", str(folder / "scenario.toml"), "--journal", str(folder / "feed.journal")]
            feed += ["--lead", str(_LEAD_MINUTES), "--ingest", endpoints.ingest, "--link", endpoints.link]
            children.start("feed", [*feed, *clock], folder / "feed.log")
        form = ["--config", str(folder), "--journal", str(folder / "entered.journal"), *clock]
        entry_form = exits.enter_context(EntryForm(form, folder / "form.log"))
        ends = None if args.minutes is None else start + round(args.minutes * MINUTE)
        done = run_desk(
            [HubGiven(endpoints, emergency_cards=lambda: cards_in(args.config))],
            replace(desk_options(args), tour=args.tour),
            stop=stop,
            over=lambda session: _is_over(session, ends),
            watch=children.watch,
            open_form=entry_form.open,
        )
    if not done:
        raise ConfigurationError(f"--picture {args.picture}: could not be written")
    return 0


def _made(args: argparse.Namespace, endpoints: Endpoints, folder: Path, now: Instant) -> Scenario:
    """Write the folder; where nothing has a cable, also the record of what people have done until now."""
    shipped = args.config / "scenarios"
    if args.entry is None:
        file = args.scenario or shipped / "demo.toml"
        return make_folder(args.config, file, args.beds or _BEDS, endpoints, folder, now)
    file = args.scenario or shipped / "night_of_entry.toml"
    minutes = min(args.entry, parse_scenario(file.read_text(encoding="utf-8")).minutes)
    begin = now - round(minutes * MINUTE)
    scenario = make_folder(args.config, file, None, endpoints, folder, begin, checked=now)
    record, configuration = folder / "record.db", load_configuration(folder)
    print(_PLAYED.format(hours=minutes / 60, record=record), flush=True)
    played = scenario.model_copy(update={"minutes": minutes})
    write_record(record, played, configuration, texts_in(folder), begin, load_entry_in(folder))
    return scenario


def _is_over(session: Session, ends: Instant | None) -> bool:
    now = session.store.now(time.monotonic())
    return ends is not None and now is not None and now >= ends
