"""What every command asks that takes something out of a record: who asks for it, and why."""

import argparse
from pathlib import Path

from monitor.record.reading import find_record
from shared.errors import ConfigurationError

_LONGEST = 200


def add_taken_out(parser: argparse.ArgumentParser) -> None:
    """Add ``--by``, ``--why`` and ``--noted-in``."""
    parser.add_argument("--by", metavar="ROLE", help="who takes it out, as on the roster (must be said)")
    parser.add_argument("--why", metavar="WORDS", help="the reason; no names of patients (must be said)")
    parser.add_argument(
        "--noted-in",
        type=Path,
        metavar="RECORD",
        help="the record whose log is to say so, where RECORD is a backup (default: RECORD itself)",
    )


def taken_out_by(args: argparse.Namespace, what: str) -> tuple[str, str]:
    """Give who takes it out, and why. Raises ConfigurationError where one of them is not said in one line."""
    return _line("--by", args.by, what), _line("--why", args.why, what)


def noted_in(args: argparse.Namespace, record: Path) -> Path:
    """Give the record whose log is to say so. Raises RecordError where there is none."""
    return record if args.noted_in is None else find_record(args.noted_in)


def _line(option: str, said: str | None, what: str) -> str:
    text = (said or "").strip()
    if not text:
        raise ConfigurationError(
            f"{option}: say who asks for {what}, and why; without it nothing leaves the record"
        )
    if len(text) > _LONGEST or not text.isprintable():
        raise ConfigurationError(f"{option}: one line of at most {_LONGEST} characters")
    return text
