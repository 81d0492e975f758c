"""`monitor rehearse FILE`: a scenario or a recording in virtual time, one JSON object a line.

With ``--against`` two configurations play the same input, and what differs is told instead.
"""

import argparse
import gzip
import sys
import zlib
from collections.abc import Callable, Iterable
from pathlib import Path

from monitor.cli.against import json_of, save_picture, text_of
from monitor.cli.paths import CONFIG
from monitor.core.entries import Entry
from monitor.rehearsal.comparing import compare, side_of
from monitor.rehearsal.output import line_of
from monitor.rehearsal.recording import rehearse_recording
from monitor.rehearsal.rehearse import BEGIN, rehearse
from monitor.settings import load_entry_in, load_limits_and_ladder, load_patterns_in, load_profiles
from shared.errors import ConfigurationError
from shared.recording import read_recording
from shared.recording_map import map_of_header, parse_map
from shared.scenario import parse_scenario
from shared.support import Support

_FAULTS_TOLD = 10
#: Plays the input under the configuration of a folder.
_Play = Callable[[Path], Iterable[Entry]]
_GZIP = b"\x1f\x8b"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Run limits and ladder against a scenario (.toml) or a recording (CSV, plain or gzip) in virtual time. "
        "Second look only: limits and timers are settings, not advice."
    )
    parser.add_argument("file", type=Path, metavar="FILE")
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")
    parser.add_argument("--events", metavar="OUT", help="where the events go; - (the default) is standard output")
    parser.add_argument("--against", type=Path, metavar="DIR", help="a second configuration: tell what differs")
    parser.add_argument("--json", action="store_true", help="with --against: for machines")
    parser.add_argument("--picture", type=Path, metavar="FILE", help="with --against: both as lanes, a PNG")
    parser.add_argument("--map", type=Path, metavar="FILE", help="a recording's column map")
    parser.add_argument("--support", choices=[s.value for s in Support], default="VA", help="of a recording")
    parser.add_argument("--bed", default="B1", metavar="BED", help="label of a recording's bed")


def run(args: argparse.Namespace) -> int:
    """Rehearse the file; write events and nothing else, or tell what differs between two configurations.

    Raises:
        ConfigurationError: a configuration, the scenario, the recording or its map is wrong, or options that do not
            belong together.
    """
    if args.against is not None and args.events is not None:
        raise ConfigurationError("--events and --against do not go together: events are those of one configuration")
    if args.against is None and (args.json or args.picture):
        raise ConfigurationError("--json and --picture belong to --against, which names a second configuration")
    play = _of_scenario(args) if args.file.suffix == ".toml" else _of_recording(args)
    if args.against is not None:
        return _compare(args, play)
    entries = play(args.config)
    if args.events in (None, "-"):
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


def _compare(args: argparse.Namespace, play: _Play) -> int:
    first, second = (side_of(str(folder), play(folder)) for folder in (args.config, args.against))
    found = compare(first, second)
    print(json_of(found, str(args.file)) if args.json else text_of(found, str(args.file)))
    if args.picture is not None:
        save_picture(found, str(args.file), args.picture)
    return 0


def _of_scenario(args: argparse.Namespace) -> _Play:
    """The pumps are those of ``--config``: the same input for both configurations."""
    profiles = load_profiles(args.config)
    text = _text(args.file)
    try:
        scenario = parse_scenario(text)
    except ConfigurationError as error:
        raise ConfigurationError(f"{args.file}: {error}") from None
    return lambda folder: rehearse(
        scenario,
        *load_limits_and_ladder(folder),
        profiles,
        patterns=load_patterns_in(folder),
        entry=load_entry_in(folder) if scenario.round else None,
    )


def _of_recording(args: argparse.Namespace) -> _Play:
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
    support = Support(args.support)
    return lambda folder: rehearse_recording(
        recording,
        columns.quantities,
        *load_limits_and_ladder(folder),
        args.bed,
        support,
        patterns=load_patterns_in(folder),
    )


def _text(path: Path) -> str:
    try:
        raw = path.read_bytes()
        return (gzip.decompress(raw) if raw.startswith(_GZIP) else raw).decode("utf-8")
    except (OSError, EOFError, zlib.error, UnicodeDecodeError) as error:
        raise ConfigurationError(f"{path}: cannot be read: {error}") from None
