"""``monitor trial``: whole units in virtual time under every kind of fault, held to the eight invariants."""

import argparse
import gc
import logging
import os
import sys
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from functools import cache, partial
from multiprocessing import get_context
from pathlib import Path

from monitor.cli.paths import CONFIG
from monitor.cli.trials.patients import Units
from monitor.cli.trials.play import play
from monitor.rehearsal.trials.findings import INVARIANTS, Outcome
from monitor.rehearsal.trials.plan import Plan, draw
from monitor.rehearsal.trials.shrink import shrink
from shared.errors import ConfigurationError
from shared.instant import HOUR

#: At most so many seeds at once: more would be days.
MOST = 100_000
_LEAST_MIN, _MOST_MIN = 2, 120
_BEDS, _MOST_BEDS, _MOST_JOBS = 4, 24, 64
_TOLD_EVERY_S = 5.0
#: Little of what a seed makes is garbage that must be searched for: this much more is made before it is.
_SEARCHED_AFTER = (20_000, 20, 50)
_DAY_MS = 24 * HOUR


@dataclass(frozen=True, slots=True)
class Tried:
    """A seed that was played; ``items``: the fewest with which it still fails, ``None``: all invariants hold."""

    outcome: Outcome
    items: tuple[int, ...] | None = None


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Play small units with their feeds, hub and desks on a virtual network, clock and disk, under faults drawn "
        "from a seed, and hold them to the eight invariants. A seed that fails is told as the fewest things that "
        "still make it fail. Progress goes to standard error."
    )
    parser.add_argument("--seeds", type=int, default=20, metavar="N", help="how many (default: 20)")
    parser.add_argument("--first", type=int, default=1, metavar="SEED", help="the first of them (default: 1)")
    parser.add_argument("--minutes", type=int, default=10, metavar="M", help="of each unit (default: 10)")
    parser.add_argument(
        "--beds", type=int, default=_BEDS, metavar="N", help="at most, of a unit (default: %(default)s)"
    )
    jobs = min(os.cpu_count() or 1, _MOST_JOBS)
    parser.add_argument("--jobs", type=int, default=jobs, metavar="N", help="processes (default: one a core)")
    parser.add_argument("--only", default="", metavar="ITEMS", help="one seed with these items alone: 3,7,12")
    parser.add_argument("--story", action="store_true", help="tell what happened, whether it fails or not")
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")


def run(args: argparse.Namespace) -> int:
    """Play the seeds; give 1 when an invariant is broken.

    Raises:
        ConfigurationError: the configuration is wrong, or an option makes no sense.
    """
    for name, value, least, most in (
        ("seeds", args.seeds, 1, MOST), ("first", args.first, 0, 2**53), ("jobs", args.jobs, 1, _MOST_JOBS),
        ("minutes", args.minutes, _LEAST_MIN, _MOST_MIN), ("beds", args.beds, 2, _MOST_BEDS),
    ):  # fmt: skip
        if not least <= value <= most:
            raise ConfigurationError(f"--{name} {value}: allowed {least} to {most}")
    only = _numbers(args.only)
    if only is not None and args.seeds != 1:
        raise ConfigurationError("--only belongs to one seed: give --seeds 1")
    Units(args.config)  # what is wrong with the configuration is said once, here
    began = time.monotonic()
    seeds = range(args.first, args.first + args.seeds)
    work = partial(try_seed, minutes=args.minutes, beds=args.beds, config=args.config, only=only)
    tried = list(_told(_tried(seeds, work, args.jobs), len(seeds)))
    broken = [one for one in tried if one.items is not None]
    for one in tried:
        if one.items is not None or args.story:
            print(_story(one, args))
    print(_summary(tried, time.monotonic() - began))
    return 1 if broken else 0


def try_seed(seed: int, minutes: int, beds: int, config: Path, only: tuple[int, ...] | None = None) -> Tried:
    """Play a seed, and make it small where it fails."""
    usual = gc.get_threshold()
    gc.set_threshold(*_SEARCHED_AFTER)
    logging.disable(logging.CRITICAL)  # what hub and feeds log under faults is expected
    try:
        plan = draw(seed, minutes, beds)
        return try_plan(plan if only is None else plan.only(only), _units(config))
    finally:
        logging.disable(logging.NOTSET)
        gc.set_threshold(*usual)


@cache
def _units(config: Path) -> Units:
    """Once in a process; what is loaded by then stays, so the garbage collector need not go through it again."""
    units = Units(config)
    gc.freeze()
    return units


def try_plan(plan: Plan, units: Units) -> Tried:
    """Play a plan, and make it small where it fails: the same invariant must go on being broken."""
    outcome = play(plan, units)
    if not outcome.invariant:
        return Tried(outcome)
    print(f"seed {plan.seed}: {outcome.words}: making it small, which takes a while", file=sys.stderr, flush=True)

    def fails(numbers: Sequence[int]) -> bool:
        return play(plan.only(numbers), units).invariant == outcome.invariant

    until = outcome.bed_ms // len(plan.beds)
    least = tuple(shrink([item.number for item in plan.items if item.at <= until], fails))
    return Tried(play(plan.only(least), units), least)


def _numbers(text: str) -> tuple[int, ...] | None:
    if not text:
        return None
    try:
        return tuple(int(word) for word in text.split(",")) if text != "none" else ()
    except ValueError:
        raise ConfigurationError(f"--only {text}: numbers of items with commas between, or none") from None


def _tried(seeds: Sequence[int], work: "partial[Tried]", jobs: int) -> Iterator[Tried]:
    if jobs == 1 or len(seeds) == 1:
        yield from map(work, seeds)
        return
    with ProcessPoolExecutor(jobs, mp_context=get_context("spawn")) as pool:
        yield from pool.map(work, seeds)


def _told(tried: Iterator[Tried], whole: int) -> Iterator[Tried]:
    """Say on standard error, now and then, how far it is."""
    counts: Counter[str] = Counter()
    done = broken = bed_ms = 0
    said = time.monotonic()
    for one in tried:
        yield one
        done, bed_ms = done + 1, bed_ms + one.outcome.bed_ms
        broken += one.items is not None
        counts.update(one.outcome.counts)
        if time.monotonic() - said >= _TOLD_EVERY_S or done == whole:
            said = time.monotonic()
            faults = sum(times for name, times in counts.items() if name.startswith("faults: "))
            print(
                f"{done} of {whole} seeds, {bed_ms / _DAY_MS:.2f} bed-days, {faults} faults, {broken} broken",
                file=sys.stderr, flush=True,
            )  # fmt: skip


def _story(one: Tried, args: argparse.Namespace) -> str:
    outcome = one.outcome
    head = f"Seed {outcome.seed}: {outcome.words}"
    if one.items is None:
        return "\n".join([head, *outcome.lines])
    only = ",".join(str(number) for number in one.items) or "none"
    config = "" if args.config == CONFIG else f" --config {args.config}"
    beds = "" if args.beds == _BEDS else f" --beds {args.beds}"
    again = f"--first {outcome.seed} --seeds 1 --minutes {args.minutes}{beds} --only {only}{config}"
    return "\n".join([head, *outcome.lines, f"Again: ./weirkeeper trial {again}"])


def _summary(tried: Sequence[Tried], seconds: float) -> str:
    counts: Counter[str] = Counter()
    for one in tried:
        counts.update(one.outcome.counts)
    bed_days = sum(one.outcome.bed_ms for one in tried) / _DAY_MS
    broken = Counter(one.outcome.invariant for one in tried if one.items is not None)
    lines = [f"{len(tried)} seeds, {bed_days:.2f} bed-days in {seconds:.0f} s"]
    lines += [f"  {times:>9}  {name}" for name, times in sorted(counts.items()) if times]
    for number, words in INVARIANTS.items():
        held = f"BROKEN by {broken[number]} seeds" if broken[number] else "held"
        lines.append(f"invariant {number}, {words}: {held}")
    return "\n".join(lines)
