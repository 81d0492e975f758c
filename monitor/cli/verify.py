"""``monitor verify``: is the log of a record as it was written? It names the first entry that is not."""

import argparse
from pathlib import Path

from monitor.cli.progress import Progress
from monitor.record.head import Head, head_on_paper, head_path, read_heads
from monitor.record.moments import utc
from monitor.record.reading import RecordToRead, find_record, read_only
from monitor.record.verifying import Verdict
from shared.errors import ConfigurationError, RecordError

WHOLE, BROKEN = 0, 1
#: Entries from which on the progress is told: about a second's work.
_SHORT = 100_000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Go through the log of a record and name the first entry that is not as it was written. The record is only "
        "read, also while a hub writes it. Exit status: 0 whole, 1 broken, 2 it cannot be read."
    )
    parser.add_argument("record", type=Path, metavar="RECORD", help="a record, or a folder with one record")
    parser.add_argument(
        "--head",
        action="append",
        default=[],
        metavar="HEX",
        help="a head written down before, at least its first 16 digits: its entry must still be there",
    )


def run(args: argparse.Namespace) -> int:
    """Verify and tell; give 0 (whole) or 1 (broken).

    Raises:
        ConfigurationError: a head is none.
        RecordError: the record cannot be read.
    """
    given = _heads(args.head)
    path = find_record(args.record)
    kept, unkept = _kept(path)
    with read_only(path, cut_short=True) as record:
        verdict = _go_through(record, [*kept, *given])
        counted, missing = _inputs(record)
        summed, changed = _sums(record)
        print("\n".join([*_found(record, verdict), *_met(path, verdict, unkept), counted, *summed]))
        print("\n".join(_judged(record, verdict, [*missing, *changed])))
        return BROKEN if verdict.broken or record.cut_short or missing or changed else WHOLE


def _heads(typed: list[str]) -> list[Head]:
    try:
        return [head_on_paper(text) for text in typed]
    except ValueError as error:
        raise ConfigurationError(f"--head: {error}") from None


def _kept(path: Path) -> tuple[list[Head], str]:
    """Give the heads beside the record, read before the record itself, or why there are none."""
    try:
        kept = read_heads(path)
    except RecordError as error:
        return [], f"{error}."
    return kept, "" if kept else f"there is no {head_path(path).name} beside it."


def _go_through(record: RecordToRead, heads: list[Head]) -> Verdict:
    try:
        progress = Progress("verified", record.newest(), _SHORT)
    except RecordError:  # damaged at its end: how far it goes is found on the way
        progress = Progress("verified", 0, _SHORT)
    verification = record.verification(heads)
    while not verification.step():
        progress.at(verification.verdict.count)
    return verification.verdict


def _found(record: RecordToRead, verdict: Verdict) -> list[str]:
    lines = [f"Record  {record.path}, version {record.version}"]
    if not verdict.count:
        return [*lines, "Log     no entry is as it was written" if verdict.broken else "Log     no entries"]
    count = "1 entry" if verdict.count == 1 else f"{verdict.count} entries"
    what = f"the first {count} whole" if verdict.broken else count
    return [
        *lines,
        f"Log     {what}, from {utc(verdict.first_at)} to {utc(verdict.last_at)}",
        f"Head    entry {verdict.count}, {verdict.head.hex()}",
    ]


def _met(path: Path, verdict: Verdict, unkept: str) -> list[str]:
    lines = [f"Kept    {head.kept} names entry {number}: it is there" for head, number in verdict.met]
    if unkept:
        lines.append(f"Kept    {unkept} Entries cut off at the end are missed only against a --head on paper.")
    return lines


def _inputs(record: RecordToRead) -> tuple[str, list[str]]:
    """Say how many inputs there are, and what is wrong with them, if anything is."""
    try:
        found = record.inputs()
    except RecordError as error:
        return "Inputs  not counted", [str(error)]
    if found.odd is None:
        return f"Inputs  {found.count}: readings, commands and the rest, none missing", []
    after = f", after {utc(found.after)}" if found.after else ""
    there = f"{found.count} inputs are there, and they are numbered up to {found.last}"
    return f"Inputs  {found.count}", [f"BROKEN at input {found.odd}{after}: {there}"]


def _sums(record: RecordToRead) -> tuple[list[str], list[str]]:
    """Say how far the inputs are as they were written, by their digests, and what is wrong, if anything is."""
    try:
        reading, thinned = record.sums(), record.thinned()
        if reading is None:
            return [f"Digests none of inputs: version {record.version} has none"], []
        progress = Progress("inputs verified", record.inputs().last, _SHORT)
        while not reading.step():
            progress.at(reading.found.upto)
    except RecordError as error:
        return ["Digests of inputs not verified"], [str(error)]
    found = reading.found
    lines = [f"Digests inputs {found.base + 1} to {found.upto}, up to {utc(found.at)}: {found.digest.hex()}"]
    if found.upto == found.base:
        lines = ["Digests none of inputs yet: one is written with every checkpoint, about every 20 s"]
    if thinned is not None:
        entry = f"entry {thinned.entry} says by whom and why"
        lines.append(f"Thinned {thinned.observations} observations before {utc(thinned.before)}: {entry}")
    faults = [f"BROKEN: {found.amiss}"] if found.amiss else []
    if found.odd is not None:
        span = f"inputs {found.odd[0]} and {found.odd[1]}, after {utc(found.at)}"
        faults.append(f"BROKEN between {span}: one is not as it was written")
    return lines, faults


def _when(verdict: Verdict) -> str:
    """Say of which kind and when the broken entry is, or after what it was, where neither can be told any more."""
    broken = verdict.broken
    if broken is not None and (broken.kind or broken.at):
        return f" ({broken.kind or 'kind unknown'}, {utc(broken.at)})"
    return f" (after {utc(verdict.last_at)})" if verdict.count else ""


def _judged(record: RecordToRead, verdict: Verdict, faults: list[str]) -> list[str]:
    broken = verdict.broken
    lines = [f"DAMAGED: {record.cut_short}."] if record.cut_short else []
    if broken is not None:
        lines.append(f"BROKEN at entry {broken.number}{_when(verdict)}: {broken.why}.")
    lines += [f"{fault}." for fault in faults]
    if lines:
        return [
            *lines,
            "What to do: copy the whole folder away as it is, and see whether a backup is whole (verify BACKUP).",
            "A hub may go on with a record whose log is broken: it watches and calls all the same.",
        ]
    if record.version == 1:
        return [
            "WHOLE: the entries are as they were written, and none is missing between them.",
            "Digests of version 1 cover number and text of an entry, not its ordinal.",
        ]
    return [
        "WHOLE: the entries are as they were written, and none is missing between them.",
        "Write the head down: whoever can write this folder can write record and head anew, and only a head kept",
        "elsewhere (--head) shows that.",
    ]
