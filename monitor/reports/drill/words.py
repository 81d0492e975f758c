"""The facts of a drill as lines, in the same words on the screen after it, on paper and at a terminal."""

from collections.abc import Iterator
from datetime import UTC, datetime, tzinfo

from monitor.core.grades import Priority
from monitor.reports.drill.facts import Done, Met, Turn
from shared.cautions import DRILL, SECOND_LOOK
from shared.instant import SECOND, Instant
from shared.language.saying import say, to_say

#: Said on each: what these lines are not.
NO_VERDICT = to_say("What was written down, and when. No verdict on anybody, and no advice.")
_ASIDE, _RUNNING = "aside", "running"
_NOBODY = to_say("nobody")
_TIMES = (to_say("answered {when}"), to_say("taken {when}"), to_say("at the bed {when}"))
_GRADED = {
    Priority.HIGH: to_say("{title} (high)"),
    Priority.MEDIUM: to_say("{title} (medium)"),
    Priority.LOW: to_say("{title} (low)"),
}


def head_lines(done: Done, zone: tzinfo) -> Iterator[str]:
    """Say what was practised, by whom it was begun, when, and when it stood aside."""
    by, since, until = " and ".join(done.drill.begun_by), clock(done.begin, zone), clock(done.end, zone)
    began = say("Begun {since}, until {until}", since=since, until=until)
    if by:
        began = say("Begun by {by} {since}, until {until}", by=by, since=since, until=until)
    yield f"{DRILL} {done.drill.title}"
    yield f"{began} ({length(done.end - done.begin)})."
    for begin, end, why in asides(done.turns, done.end):
        yield say(
            "Stood aside {clock} to {until}: {why}. Its beds went on meanwhile.",
            clock=clock(begin, zone),
            until=clock(end, zone),
            why=why,
        )
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
    title = say(_GRADED[one.priority], title=one.title)
    yield f"{one.bed or say('The unit')}: {title}, {clock(one.raised, zone)}"
    times = zip(_TIMES, (one.seen, one.taken, one.at_bed), strict=True)
    said = [say(words, when=_NOBODY if at is None else _after(one, at)) for words, at in times]
    ended = say("not ended") if one.ended is None else say("ended {after}", after=_after(one, one.ended))
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
        yield from ("", say("No medium or high alert came up."))
    if done.lows:
        yield from ("", say("{lows} low alerts, which call nobody.", lows=done.lows))
    if done.other:
        yield from ("", say("Also written down:"))
        yield from (f"  {clock(step.at, zone)}  {step.words}" for step in done.other)


def _after(one: Met, at: Instant) -> str:
    return say("after {span}", span=span(at - one.raised))


def _calls(one: Met) -> str:
    calls = say("1 call") if one.calls == 1 else say("{calls} calls", calls=one.calls)
    return (
        say("{calls}, {went_on} of them after the first answer and before a take", calls=calls, went_on=one.went_on)
        if one.went_on
        else calls
    )


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
