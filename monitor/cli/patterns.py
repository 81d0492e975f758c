"""``monitor patterns``: how often the first hint is right, over random courses of the simulated circuit."""

import argparse
import sys
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from functools import partial
from multiprocessing import get_context
from os import times
from pathlib import Path

from monitor.cli.paths import CONFIG
from monitor.cli.patterns_sheet import Ran, as_json, sheet, table_of
from monitor.core.unit import Configuration
from monitor.rehearsal.pattern_course import PatternCourse, draw_course
from monitor.rehearsal.pattern_play import Played, play
from monitor.settings import load_configuration
from shared.errors import ConfigurationError
from shared.support import Support

#: At most so many courses at once: more would be hours.
MOST = 100_000
_TOLD_EVERY_S = 2.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Play random courses of the simulated circuit, each with one fault of known cause, and count which hint "
        "came first. Progress goes to standard error, the table to standard output."
    )
    parser.add_argument("--courses", type=int, default=60, metavar="N", help="how many (default: 60)")
    parser.add_argument("--seed", type=int, default=1, help="the same seed plays the same courses (default: 1)")
    parser.add_argument(
        "--support", choices=[s.value for s in Support], help="one support type (default: all in turn)"
    )
    parser.add_argument("--json", type=Path, metavar="FILE", help="write table and courses for machines")
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")
    parser.add_argument("--workers", type=int, default=2, metavar="N", help="processes (default: 2)")


def run(args: argparse.Namespace) -> int:
    """Play the courses and print the table.

    Raises:
        ConfigurationError: the configuration is wrong, has no patterns or pumps, or an option makes no sense.
    """
    if not 1 <= args.courses <= MOST:
        raise ConfigurationError(f"--courses {args.courses}: allowed 1 to {MOST}")
    if not 1 <= args.workers <= 64:
        raise ConfigurationError(f"--workers {args.workers}: allowed 1 to 64")
    configuration = load_configuration(args.config)
    if not configuration.patterns.pattern or not configuration.pumps:
        raise ConfigurationError(
            f"{args.config}: patterns.toml and a pump in pumps/ are needed; without them no hint"
        )
    supports = [Support(args.support)] if args.support else list(Support)
    pumps = sorted(configuration.pumps)
    courses = [
        draw_course(args.seed, number, supports, pumps, configuration.patterns) for number in range(args.courses)
    ]
    began, spent = time.monotonic(), _spent()
    played = list(_told(_played(courses, configuration, args.workers), len(courses)))
    early = sum(one.early for one in played)
    words = tuple(support.value for support in supports)
    ran = Ran(len(courses), args.seed, words, time.monotonic() - began, _spent() - spent, early)
    table = table_of(played, configuration.patterns)
    if args.json is not None:
        try:
            args.json.write_text(as_json(table, played, ran) + "\n", encoding="utf-8")
        except OSError as error:
            raise ConfigurationError(f"--json {args.json}: cannot be written: {error.strerror}") from None
    print(sheet(table, configuration.patterns, ran))
    return 0


def _played(courses: Sequence[PatternCourse], configuration: Configuration, workers: int) -> Iterator[Played]:
    """Play courses in so many processes; results in the order of the courses."""
    one = partial(play, configuration=configuration)
    if workers == 1:
        yield from map(one, courses)
        return
    with ProcessPoolExecutor(min(workers, len(courses)), mp_context=get_context("spawn")) as pool:
        yield from pool.map(one, courses)


def _told(played: Iterator[Played], of: int) -> Iterator[Played]:
    """Tell on standard error how far it is."""
    told = time.monotonic()
    for done, one in enumerate(played, 1):
        yield one
        now = time.monotonic()
        if now - told >= _TOLD_EVERY_S or done == of:
            told = now
            print(f"patterns: {done} of {of} courses", file=sys.stderr, flush=True)


def _spent() -> float:
    """Seconds of processors that this process and its children have used so far."""
    found = times()
    return found.user + found.system + found.children_user + found.children_system
