"""`monitor rehearse FILE`: a scenario or a recording in virtual time, one JSON object a line."""

import argparse
import gzip
import sys
import zlib
from collections.abc import Callable, Iterable
from pathlib import Path

from monitor.cli.paths import CONFIG
from monitor.core.entries import Entry
from monitor.rehearsal.output import line_of
from monitor.rehearsal.recording import rehearse_recording
from monitor.rehearsal.rehearse import BEGIN, rehearse
from monitor.settings import load_limits_and_ladder, load_profiles
from shared.errors import ConfigurationError
from shared.recording import read_recording
from shared.recording_map import map_of_header, parse_map
from shared.scenario import parse_scenario
from shared.support import Support

_FAULTS_TOLD = 10
_GZIP = b"\x1f\x8b"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Run limits and ladder against a scenario (.toml) or a recording (CSV, plain or gzip) in virtual time. "
        "Second look only: limits and timers are settings, not advice."
    )
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")
    parser.add_argument("--events", default="-", metavar="OUT", help="where the events go; - is standard output")
    parser.add_argument("--map", type=Path, metavar="FILE", help="a recording's column map")
    parser.add_argument("--support", choices=[s.value for s in Support], default="VA", help="of a recording")
    parser.add_argument("--bed", default="B1", metavar="BED", help="label of a recording's bed")


def run(args: argparse.Namespace) -> int:
    """Rehearse the file; write events and nothing else.

    Raises:
        ConfigurationError: the configuration, the scenario, the recording or its map is wrong.
    """
    entries = _of_scenario(args) if args.file.suffix == ".toml" else _of_recording(args)
    if args.events == "-":
        _write(entries, sys.stdout.write)
        return 0
    try:
        with Path(args.events).open("w", encoding="utf-8") as out:
            _write(entries, out.write)
    except OSError as error:
        raise ConfigurationError(f"--events {args.events}: cannot be written: {error}") from None
    return 0


def _write(entries: Iterable[Entry], write: Callable[[str], object]) -> None:
    for entry in entries:
        line = line_of(entry, BEGIN)
        if line is not None:
            write(line + "\n")


def _of_scenario(args: argparse.Namespace) -> Iterable[Entry]:
    limits, ladder = load_limits_and_ladder(args.config)
    text = _text(args.file)
    try:
        scenario = parse_scenario(text)
    except ConfigurationError as error:
        raise ConfigurationError(f"{args.file}: {error}") from None
    return rehearse(scenario, limits, ladder, load_profiles(args.config))


def _of_recording(args: argparse.Namespace) -> Iterable[Entry]:
    limits, ladder = load_limits_and_ladder(args.config)
    lines = _text(args.file).splitlines()
    try:
        columns = parse_map(_text(args.map)) if args.map else map_of_header(lines[0] if lines else "")
        recording = read_recording(lines, columns)
    except ConfigurationError as error:
        raise ConfigurationError(f"{args.map or args.file}: {error}") from None
    for fault in recording.faults[:_FAULTS_TOLD]:
        sys.stderr.write(f"{args.file}, line {fault.line} skipped: {fault.why}\n")
    if len(recording.faults) > _FAULTS_TOLD:
        sys.stderr.write(f"{args.file}: {len(recording.faults)} lines skipped in all\n")
    if not recording.rows:
        raise ConfigurationError(f"{args.file} holds no reading")
    return rehearse_recording(recording, columns.quantities, limits, ladder, args.bed, Support(args.support))


def _text(path: Path) -> str:
    try:
        raw = path.read_bytes()
        return (gzip.decompress(raw) if raw.startswith(_GZIP) else raw).decode("utf-8")
    except (OSError, EOFError, zlib.error, UnicodeDecodeError) as error:
        raise ConfigurationError(f"{path}: cannot be read: {error}") from None
