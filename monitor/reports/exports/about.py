"""What every export says of itself, in words for whoever opens it."""

from collections.abc import Iterator

from monitor.reports.exports.asked import Asked
from monitor.reports.exports.taking import OF_NOBODY, Taking, written
from shared.cautions import DRILL, ON_PAPER, ONE_FORM

_TEST = "SIMULATED and REPLAYED readings are of nobody: test data."
_PEOPLE = "People stand by their role, the patient not at all: the bed and the name of the run say which."
_THINNED = "READINGS ARE MISSING: old ones were taken out of the unit's record, those received before"
_KEEP = "Readings are sensitive: keep the files where only those see them who need them, and delete them after."


def about(taking: Taking, asked: Asked, *more: str) -> Iterator[str]:
    """Give the lines; ``more``: what the files hold."""
    begin, end = written(taking.begin, taking.zone), written(taking.end, taking.zone)
    if taking.drill is not None:
        yield from (f"{DRILL} {taking.drill.title}", "")
    yield from (f"Bed {taking.bed}, read from {begin} to before {end}", "", *ON_PAPER, "")
    yield f"Taken out by {asked.by}: {asked.why}. That stands in the unit's log, with the SHA-256 of each file."
    yield f"{taking.count} observations, {len(taking.alerts)} alerts."
    yield from ("", *more, "")
    yield from (_TEST, _PEOPLE, _KEEP)
    yield "A set that was corrected or struck is there with all its versions; only what counts is to be used."
    if taking.thinned_before is not None and taking.begin < taking.thinned_before:
        yield f"{_THINNED} {written(taking.thinned_before, taking.zone)}."
    yield "Where nothing was read nothing stands: no value is filled in, carried on or worked out."
    yield ONE_FORM


def is_test(origin: object) -> bool:
    """Tell whether readings of an origin are of nobody."""
    return origin in OF_NOBODY
