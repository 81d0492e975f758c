"""The facts of a drill as lines, in the same words on the screen after it, on paper and at a terminal."""

from collections.abc import Iterator
from datetime import UTC, datetime, tzinfo

from monitor.reports.drill.facts import Done, Met, Turn
from shared.cautions import DRILL, SECOND_LOOK
from shared.instant import SECOND, Instant

#: Said on each: what these lines are not.
NO_VERDICT = "What was written down, and when. No verdict on anybody, and no advice."
_ASIDE, _RUNNING = "aside", "running"
_NOBODY = "nobody"


def head_lines(done: Done, zone: tzinfo) -> Iterator[str]:
    """Say what was practised, by whom it was begun, when, and when it stood aside."""
    by = " and ".join(done.drill.begun_by)
    began = f"Begun{f' by {by}' if by else ''} {clock(done.begin, zone)}, until {clock(done.end, zone)}"
    yield f"{DRILL} {done.drill.title}"
    yield f"{began} ({length(done.end - done.begin)})."
    for begin, end, why in asides(done.turns, done.end):
        yield f"Stood aside {clock(begin, zone)} to {clock(end, zone)}: {why}. Its beds went on meanwhile."
    yield NO_VERDICT


def asides(turns: tuple[Turn, ...], end: Instant) -> Iterator[tuple[Instant, Instant, str]]:
    """Give from when to when a drill stood aside, and why."""
    since: Turn | None = None
    for turn in turns:
        if since is not None:
            yield since.at, turn.at, since.why
        since = turn if turn.state == _ASIDE else None
    if since is not None:
        yield since.at, end, since.why


def met_lines(one: Met, zone: tzinfo) -> Iterator[str]:
    """Give a need: its head, its times, and what nobody did."""
    yield f"{one.bed or 'The unit'}: {one.title} ({one.priority.value}), {clock(one.raised, zone)}"
    times = [("answered", one.seen), ("taken", one.taken), ("at the bed", one.at_bed)]
    said = [f"{what} {_NOBODY if at is None else _after(one, at)}" for what, at in times]
    ended = "not ended" if one.ended is None else f"ended {_after(one, one.ended)}"
    yield f"{', '.join((*said, ended))}; {_calls(one)}"
    if one.missed:
        yield f"{'; '.join(one.missed).capitalize()}."


def step_lines(one: Met) -> Iterator[tuple[str, str]]:
    """Give everything that happened at a need, each with its time after the alert."""
    for step in one.steps:
        yield span(step.at - one.raised), step.words


def all_lines(done: Done, zone: tzinfo) -> Iterator[str]:
    """Give the whole as text."""
    yield from head_lines(done, zone)
    yield SECOND_LOOK
    for one in done.met:
        yield ""
        yield from met_lines(one, zone)
        yield from (f"  {after:>6}  {words}" for after, words in step_lines(one))
    if not done.met:
        yield from ("", "No medium or high alert came up.")
    if done.lows:
        yield from ("", f"{done.lows} low alerts, which call nobody.")
    if done.other:
        yield from ("", "Also written down:")
        yield from (f"  {clock(step.at, zone)}  {step.words}" for step in done.other)


def _after(one: Met, at: Instant) -> str:
    return f"after {span(at - one.raised)}"


def _calls(one: Met) -> str:
    calls = f"{one.calls} call{'' if one.calls == 1 else 's'}"
    return f"{calls}, {one.went_on} of them after the first answer and before a take" if one.went_on else calls


def clock(at: Instant, zone: tzinfo) -> str:
    """Write a moment by the clock on the wall."""
    return f"{datetime.fromtimestamp(at // SECOND, UTC).astimezone(zone):%H:%M:%S}"


def span(ms: int) -> str:
    """Write a stretch of time as m:ss."""
    minutes, seconds = divmod(ms // SECOND, 60)
    return f"{minutes}:{seconds:02}"


def length(ms: int) -> str:
    """Write how long something took, in words."""
    minutes, seconds = divmod(ms // SECOND, 60)
    return f"{minutes} min {seconds} s"
