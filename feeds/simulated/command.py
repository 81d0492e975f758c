"""``feeds simulate``: play a scenario's beds to the hub, once a second of scenario time."""

import argparse
from collections.abc import Iterator
from itertools import islice
from pathlib import Path

from feeds.journal import Journal
from feeds.options import (
    VirtualClock,
    add_clock_arguments,
    add_common_arguments,
    feed_name,
    journal_path,
    keys_of,
)
from feeds.publisher import Publisher
from feeds.simulated.lead import lead_of
from feeds.simulated.player import Player
from shared.errors import ConfigurationError
from shared.feed_talk import Draft
from shared.instant import SECOND
from shared.scenario import Scenario, parse_scenario
from shared.stopping import StopRequested

_SECONDS_AT_A_TIME = 60
_MOMENTS_AT_A_TIME = 6
_LEAD_AT_MOST = 24 * 60


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = "Play the beds of a scenario to the hub. The patients are simulated."
    parser.add_argument("scenario", type=Path, metavar="FILE", help="a scenario file")
    parser.add_argument(
        "--only", action="append", default=[], metavar="BED", help="play this bed only; may be given again"
    )
    parser.add_argument(
        "--lead",
        type=float,
        default=0.0,
        metavar="MINUTES",
        help="what the beds showed so long before (default: 0)",
    )
    parser.add_argument("--once", action="store_true", help="end when the scenario ends (default: hold its end)")
    add_common_arguments(parser, "simulated")
    add_clock_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Play until SIGINT, SIGTERM or, with ``--once``, the end; give the exit status.

    Raises:
        ConfigurationError: an option, the scenario or the journal is wrong.
    """
    scenario = load_scenario(args.scenario)
    clock = VirtualClock(args.start, args.speed)
    if not 0 <= args.lead <= _LEAD_AT_MOST:
        raise ConfigurationError(f"--lead {args.lead:g}: allowed 0 to {_LEAD_AT_MOST}")
    player = Player(scenario, clock.start, args.only)
    lead = lead_of(scenario, clock.start, args.lead, args.only)
    journal = Journal(journal_path(args), feed_name(args))
    try:
        with (
            StopRequested() as stop,
            Publisher(
                journal,
                player.declarations(),
                ingest=args.ingest,
                link=args.link,
                clock=clock.now,
                keys=keys_of(args),
            ) as publisher,
        ):
            _play(player, publisher, clock, stop, scenario.seconds if args.once else None, lead)
    finally:
        journal.close()
    return 0


def load_scenario(path: Path) -> Scenario:
    """Read a scenario file.

    Raises:
        ConfigurationError: it cannot be read, or is no scenario.
    """
    try:
        return parse_scenario(path.read_text(encoding="utf-8"))
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"the scenario {path} cannot be read: {error}") from error
    except ConfigurationError as error:
        raise ConfigurationError(f"{path}: {error}") from None


def _play(
    player: Player,
    publisher: Publisher,
    clock: VirtualClock,
    stop: StopRequested,
    ends: float | None,
    lead: Iterator[list[Draft]],
) -> None:
    """Play every second of scenario time from now on; a feed that begins late joins where the course stands.

    The lead goes out a little at a time, always after what is live.
    """
    done = (clock.began - clock.start) // SECOND - 1
    while not stop.now and (ends is None or done < ends):
        reached = (clock.now() - clock.start) // SECOND
        if ends is not None:
            reached = min(reached, int(ends))
        until = min(reached, done + _SECONDS_AT_A_TIME)
        drafts = [draft for t in range(max(0, done + 1), until + 1) for draft in player.second(t)]
        publisher.publish(drafts)
        done = max(done, until)
        earlier = [draft for moment in islice(lead, _MOMENTS_AT_A_TIME) for draft in moment] if done >= 0 else []
        publisher.publish(earlier)
        publisher.turn(0 if earlier or until < reached else clock.real_ms_until(clock.start + (done + 1) * SECOND))
