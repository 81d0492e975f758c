"""``monitor demo``: twelve invented beds, their hub and a desk, all on this machine. Everything is simulated."""

import argparse
import tempfile
import time
from contextlib import ExitStack
from pathlib import Path

from monitor.cli.children import Children
from monitor.cli.demo_folder import make_folder, make_secrets
from monitor.cli.desk import add_desk_arguments, desk_options
from monitor.cli.entry_form import EntryForm
from monitor.cli.paths import CONFIG
from monitor.cli.ports import free_endpoints
from monitor.desk.opening import run_desk
from monitor.desk.session import Session
from shared.errors import ConfigurationError, RecordError
from shared.instant import MINUTE, Instant
from shared.stopping import StopRequested

_CAUTION = (
    "Weirkeeper demonstration: everything is simulated. Not a medical device. Second look only: the bedside "
    "console is the alarm."
)
_SECRETS = "Invented secrets of invented people, for this demonstration alone:"
#: The trends of a tile show two hours: so long have the beds been running when the demonstration begins.
_LEAD_MINUTES = 120


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = _CAUTION
    parser.add_argument("--beds", type=int, default=12, metavar="N", help="default: 12")
    parser.add_argument("--speed", type=float, default=1.0, metavar="X", help="run X times faster (default: 1)")
    parser.add_argument("--minutes", type=float, metavar="M", help="leave after M minutes of the demonstration")
    parser.add_argument("--scenario", type=Path, metavar="FILE", help="another scenario than the shipped one")
    parser.add_argument("--secrets", action="store_true", help="ask for invented secrets, which are printed")
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")
    add_desk_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Show the demonstration until the window is closed, Ctrl-C, or the minutes are over.

    Raises:
        ConfigurationError: an option or the scenario is wrong, or the picture could not be written.
        RecordError: there is no room for the demonstration's own files.
    """
    if not 1 <= args.beds <= 64:
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
        shipped = args.scenario or args.config / "scenarios" / "demo.toml"
        start = time.time_ns() // 1_000_000
        try:
            scenario = make_folder(args.config, shipped, args.beds, endpoints, folder, start)
            if args.secrets:
                print(_SECRETS, *make_secrets(scenario, folder), sep="\n", flush=True)
        except OSError as error:
            raise RecordError(f"the demonstration needs some room in {folder}: {error}") from None
        clock = ["--start", str(start), "--speed", f"{args.speed:g}"]
        hub = ["monitor", "hub", "--config", str(folder), "--record", str(folder / "record.db")]
        children.start("hub", [*hub, *clock], folder / "hub.log")
        feed = ["feeds", "simulate", str(folder / "scenario.toml"), "--journal", str(folder / "feed.journal")]
        feed += ["--lead", str(_LEAD_MINUTES)]
        children.start(
            "feed", [*feed, *clock, "--ingest", endpoints.ingest, "--link", endpoints.link], folder / "feed.log"
        )
        form = ["--config", str(folder), "--journal", str(folder / "entered.journal"), *clock]
        entry_form = exits.enter_context(EntryForm(form, folder / "form.log"))
        ends = None if args.minutes is None else start + round(args.minutes * MINUTE)
        done = run_desk(
            endpoints,
            desk_options(args),
            stop=stop,
            over=lambda session: _is_over(session, ends),
            watch=children.watch,
            open_form=entry_form.open,
        )
    if not done:
        raise ConfigurationError(f"--picture {args.picture}: could not be written")
    return 0


def _is_over(session: Session, ends: Instant | None) -> bool:
    now = session.store.now(time.monotonic())
    return ends is not None and now is not None and now >= ends
