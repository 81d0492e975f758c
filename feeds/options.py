"""Options that every feed takes, and the clock that they describe."""

import argparse
import re
import time
from pathlib import Path

from feeds.sockets import load_keys
from shared.endpoints import endpoints_at
from shared.errors import ConfigurationError
from shared.instant import Instant
from shared.keys import Keys
from shared.virtual import virtual_ms

_NAME = re.compile(r"^[A-Za-z0-9._-]{1,40}$")


def add_common_arguments(parser: argparse.ArgumentParser, feed: str) -> None:
    """Add what every feed takes; ``feed`` is its name where none is given."""
    usual = endpoints_at()
    parser.add_argument("--feed", default=feed, metavar="NAME", help=f"name of the feed (default: {feed})")
    parser.add_argument("--ingest", default=usual.ingest, metavar="ADDRESS", help=f"default: {usual.ingest}")
    parser.add_argument("--link", default=usual.link, metavar="ADDRESS", help=f"default: {usual.link}")
    parser.add_argument("--journal", type=Path, metavar="FILE", help="default: run/feeds/NAME.journal")
    parser.add_argument("--key", type=Path, metavar="FILE", help="own secret key, needed off this machine")
    parser.add_argument("--hub-key", type=Path, metavar="FILE", help="the hub's public key")


def add_clock_arguments(parser: argparse.ArgumentParser) -> None:
    """Add ``--speed`` and ``--start``: the virtual clock that feed and hub agree on."""
    parser.add_argument("--speed", type=float, default=1.0, metavar="X", help="run X times faster (default: 1)")
    parser.add_argument(
        "--start",
        type=int,
        metavar="MS",
        help="wall-clock ms since 1970 UTC at which it began; tell the hub the same (default: now)",
    )


def feed_name(args: argparse.Namespace) -> str:
    """Give the feed's name.

    Raises:
        ConfigurationError: it is none.
    """
    name: str = args.feed
    if not _NAME.match(name):
        raise ConfigurationError(f"--feed {name}: a name is 1 to 40 of A-Z a-z 0-9 . _ -")
    return name


def journal_path(args: argparse.Namespace) -> Path:
    """Where the feed keeps its journal."""
    path: Path = args.journal or Path("run") / "feeds" / f"{feed_name(args)}.journal"
    return path


def keys_of(args: argparse.Namespace) -> Keys | None:
    """Read the keys, if any are given.

    Raises:
        ConfigurationError: one is given without the other, or a file holds no key.
    """
    if args.key is None and args.hub_key is None:
        return None
    if args.key is None or args.hub_key is None:
        raise ConfigurationError("--key and --hub-key belong together: give both or none")
    return load_keys(args.key, args.hub_key)


class VirtualClock:
    """The clock of a feed: the wall's at speed 1, faster otherwise; it never steps back.

    Attributes:
        start: wall-clock ms at which the course began; virtual and wall time are equal there.
        began: what the clock showed when it was made.
    """

    def __init__(self, start: Instant | None, speed: float) -> None:
        """Anchor the clock now.

        Raises:
            ConfigurationError: an impossible speed or start.
        """
        if not 0.1 <= speed <= 1000:
            raise ConfigurationError(f"--speed {speed:g}: allowed 0.1 to 1000")
        self._wall = time.time_ns() // 1_000_000
        self._anchor = time.monotonic_ns()
        self.start = self._wall if start is None else start
        if self.start < 0:
            raise ConfigurationError(f"--start {self.start}: ms since 1970 UTC, never negative")
        self._speed = speed
        self.began = max(0, virtual_ms(self.start, self._wall, speed))

    def now(self) -> Instant:
        """Virtual ms since 1970 UTC."""
        wall = self._wall + (time.monotonic_ns() - self._anchor) // 1_000_000
        return max(0, virtual_ms(self.start, wall, self._speed))

    def real_ms_until(self, instant: Instant) -> int:
        """Real ms until the virtual clock shows ``instant``; 0 when it is past."""
        return max(0, round((instant - self.now()) / self._speed + 0.5))
