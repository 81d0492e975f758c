"""`monitor bench`: how quick the real processes are, beside a floor measured in the same run."""

import argparse
import os
import sys
import tempfile
import time
from pathlib import Path

from monitor.cli.benching.figures import Size
from monitor.cli.benching.one_size import REHEARSED_MINUTES, Asked, measure
from monitor.cli.benching.picture import draw
from monitor.cli.benching.sheet import sheet
from shared.errors import ConfigurationError, RecordError

SIZES = (12, 24, 64, 256)
_WHOLE_MINUTES = 60
_SECONDS = 20.0


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Measure a real feed, hub and desk with simulated beds: sample to painted glass, processor time, memory, "
        "starts, repaint, what a review waits for, a rehearsal. Beside them, in the same run, a floor. Ratios "
        "decide; figures are those of this machine. Nobody should use the machine meanwhile."
    )
    parser.add_argument("--beds", type=int, metavar="N", help="one size; default: a table of 12, 24, 64 and 256")
    parser.add_argument(
        "--seconds", type=float, default=_SECONDS, metavar="S", help=f"measured for each (default: {_SECONDS:g})"
    )
    parser.add_argument(
        "--picture", type=Path, default=Path("run/bench.svg"), metavar="FILE", help="default: run/bench.svg"
    )


def run(args: argparse.Namespace) -> int:
    """Measure and tell; give 0 whatever the figures are.

    Raises:
        ConfigurationError: an option is wrong, this is not Linux, or the picture cannot be written.
        OurError: a process of the bench failed.
    """
    if sys.platform != "linux":
        raise ConfigurationError("bench reads processor time and memory of processes as Linux tells them")
    if args.beds is not None and not 1 <= args.beds <= 256:
        raise ConfigurationError(f"--beds {args.beds}: allowed 1 to 256")
    if not 1 <= args.seconds <= 3600:
        raise ConfigurationError(f"--seconds {args.seconds:g}: allowed 1 to 3600")
    sizes = (args.beds,) if args.beds is not None else SIZES
    measured = [_measured(beds, args, whole=len(sizes) > 1) for beds in sizes]
    try:
        args.picture.parent.mkdir(parents=True, exist_ok=True)
        args.picture.write_text(draw(measured), encoding="utf-8")
    except OSError as error:
        raise ConfigurationError(f"--picture {args.picture}: cannot be written: {error}") from None
    print(sheet(measured, args.seconds, os.cpu_count() or 1))
    print(f"\nDrawn: {args.picture}")
    return 0


def _measured(beds: int, args: argparse.Namespace, *, whole: bool) -> Size:
    began = time.monotonic()

    def tell(words: str) -> None:
        print(f"{time.monotonic() - began:6.1f} s  {beds} beds: {words}", file=sys.stderr, flush=True)

    minutes = REHEARSED_MINUTES if not whole else _WHOLE_MINUTES if beds == SIZES[0] else 0
    try:
        with tempfile.TemporaryDirectory(prefix="weirkeeper-bench-") as name:
            return measure(Asked(beds, args.seconds, minutes), Path(name), tell)
    except OSError as error:
        raise RecordError(f"the bench needs some room for its records: {error}") from None
