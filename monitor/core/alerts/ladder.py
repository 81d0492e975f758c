"""The ladder: who is called next, and when. One interpreter over the rows of ``ladder.toml``.

Theory. An episode has one ladder. Each class of alert that the episode has been in has a clock with its own zero;
the row of the class says how long after that zero each rung is called. Everything that moves a ladder is a shift
of a zero or a mark on a rung:

* promotion          a new clock starts at its own zero; rungs already called are called again at their time in it
* a class ends       the clock of the class below goes on; a rung already called is not called again for that
* second witness     the same clock under the row of two witnesses; the intensivist at once
* take               nothing is due until the hold ends, but for the rungs that this take does not hold
* hold ends          all rungs called so far at once; the zero moves so that later rungs keep their distance
* pass on            the next rung is due now; if a hold was over its time, later rungs keep their distance
* advice             one rung is not called before a time
* nobody there       skipped: the next filled rung is called in its place, at its time
* last rung called   repeats, counted from the zero
* nobody at all      said at once, and again every minute until somebody stands somewhere; they are called at once
* late arrival       the next rung now, whatever holds; the hold itself goes on
* no answer          the next rung now

Nothing here knows readings or rules. Time is an argument; a call that is late (the hub was down) is made now.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum

from monitor.core.grades import LadderClass, Rung
from monitor.core.ladder_table import LadderRow, LadderTable
from monitor.core.state import Clock, LadderState
from shared.instant import Instant, ms


class StepKind(StrEnum):
    """What a ladder did."""

    CALLED = "called"
    SKIPPED = "skipped"
    HOLD_ENDED = "hold_ended"
    NOBODY = "nobody"


@dataclass(frozen=True, slots=True)
class Step:
    """One act of a ladder: a call of a rung (``person``), a rung skipped, a hold that ran out, or nobody at all.

    ``again``: the rung was called before in this episode.
    """

    kind: StepKind
    rung: Rung | None = None
    person: str | None = None
    again: bool = False


#: Who stands on a rung now: names, the first of them the rung's own; empty: nobody. True asks for the deputy too.
Standing = Callable[[Rung, bool], tuple[str, ...]]


def start(ladder: LadderClass, zero: Instant) -> LadderState:
    """Begin a ladder of a class at its zero."""
    return LadderState(ladder=ladder, clocks={ladder: Clock(zero)}, began=zero)


def next_due(state: LadderState, table: LadderTable) -> Instant | None:
    """Give when the ladder next does something by itself, or ``None``."""
    times = [at for _, at in _pending_rungs(state, table)]
    if state.held_until is not None:
        times.append(state.held_until)
    else:
        times += [at for at in (_next_repeat(state, table), state.nobody_at) if at is not None]
    return min(times, default=None)


def next_call(state: LadderState, table: LadderTable) -> tuple[Rung, Instant] | None:
    """Give the rung that is called next and when, held or not counted, or ``None``."""
    return min(_pending_rungs(state, table), key=lambda pair: pair[1], default=None)


def next_repeat(state: LadderState, table: LadderTable) -> Instant | None:
    """Give when those called are called again: at the end of the hold, else by the repeats."""
    return state.held_until if state.held_until is not None else _next_repeat(state, table)


def advance(state: LadderState, table: LadderTable, now: Instant, standing: Standing) -> list[Step]:
    """Do everything that is due by ``now``, in order of time."""
    steps: list[Step] = []
    while (due := next_due(state, table)) is not None and due <= now:
        if state.held_until is not None and state.held_until <= due:
            steps.append(Step(StepKind.HOLD_ENDED))
            steps.extend(end_hold(state, table, now, standing))
            continue
        rungs = sorted(rung for rung, at in _pending_rungs(state, table) if at <= due)
        repeat = _next_repeat(state, table)
        if rungs:
            made = _reach(state, table, rungs[0], now, standing)
        elif repeat is not None and repeat <= due:
            made = _repeat(state, table, now, standing)
        else:
            made = _look_again(state, table, now, standing)
        steps.extend(made)
        steps.extend(_nobody(state, table, now, standing, made))
    return steps


def anybody(state: LadderState, table: LadderTable, standing: Standing) -> bool:
    """Tell whether anybody stands on a rung that this class can reach."""
    return any(_is_filled(rung, standing) for rung in reachable(table.rows[state.ladder]))


def left_to_call(state: LadderState, table: LadderTable) -> Rung | None:
    """Give the lowest rung that this class has not called yet, or ``None``."""
    return next((one for one in reachable(table.rows[state.ladder]) if one not in state.clock.done), None)


def call_next(state: LadderState, table: LadderTable, now: Instant) -> Rung | None:
    """Make the next rung due now although a take holds, and give it; ``None``: none is left to call."""
    rung = left_to_call(state, table)
    if rung is None:
        return None
    state.early[rung] = now
    state.not_before.pop(rung, None)
    if rung not in state.exempt:
        state.exempt.append(rung)
    return rung


def change_class(
    state: LadderState, table: LadderTable, ladder: LadderClass, now: Instant, promoted: bool, zero: Instant
) -> None:
    """Move to another class.

    Args:
        promoted: a new clock at ``now``, with every rung still to be called in it; and a running hold ends.
        zero: for a lower class without a clock of its own: when its oldest present alert was raised.
    """
    if promoted:
        state.clocks[ladder] = Clock(now)
        state.nobody_since = state.nobody_at = None
        state.early.clear()
        state.not_before.clear()
        state.began = now
        release(state)
    elif ladder not in state.clocks:
        state.clocks[ladder] = Clock(zero)
    state.ladder = ladder
    if not promoted:
        clock = state.clock
        clock.done = sorted({*clock.done, *state.called, *state.skipped})
        _pass_repeats(state, table, now)


def second_witness(state: LadderState) -> None:
    """A second signal agrees that circulation is lost: the same clock, the intensivist at once whatever holds."""
    clock = state.clock
    state.clocks[LadderClass.CIRCUIT_TWO] = Clock(clock.zero, list(clock.done), clock.repeats)
    state.ladder = LadderClass.CIRCUIT_TWO
    if Rung.INTENSIVIST not in state.exempt:
        state.exempt.append(Rung.INTENSIVIST)


def hold(state: LadderState, until: Instant, exempt: tuple[Rung, ...]) -> None:
    """A take holds every rung but the ``exempt`` ones until ``until``."""
    state.held_until = until
    state.exempt = list(exempt)


def release(state: LadderState) -> None:
    """End a hold without calling anybody: what is due is called in its turn."""
    state.held_until = None
    state.exempt = []


def end_hold(state: LadderState, table: LadderTable, now: Instant, standing: Standing) -> list[Step]:
    """Call all rungs called so far; the rungs after them follow at their distance in the table."""
    release(state)
    row = table.rows[state.ladder]
    reached = [Rung(rung) for rung in sorted(state.called) if row.seconds(Rung(rung)) is not None]
    if not reached:  # nobody could be called before: look at once whether somebody can be now
        state.nobody_at = now
        return []
    top = row.seconds(reached[-1]) or 0
    clock = state.clock
    clock.zero = now - ms(top)
    clock.done = [rung for rung in Rung if rung <= reached[-1] and row.seconds(rung) is not None]
    clock.repeats = 0
    state.began = now
    state.early.clear()
    made = [step for rung in reached for step in _call(state, rung, now, standing)]
    if not _called(made):
        state.nobody_at = now
    return made


def pass_on(state: LadderState, table: LadderTable, now: Instant) -> None:
    """Make the next rung due at once; where a hold was over its time, later rungs keep their distance from it."""
    following = next_call(state, table)
    if following is None:
        return
    rung, _ = following
    seconds = table.rows[state.ladder].seconds(rung) or 0
    state.clock.zero = max(state.clock.zero, now - ms(seconds))
    state.early[rung] = now
    state.not_before.pop(rung, None)


def advise(state: LadderState, until: Instant) -> None:
    """Advice by phone on a medium: the intensivist is not called before ``until``; nobody else is released."""
    state.not_before[Rung.INTENSIVIST] = until


def bring_forward(state: LadderState, rung: Rung, at: Instant) -> None:
    """Bring a rung's time forward, never back."""
    state.early[rung] = min(at, state.early.get(rung, at))


def _pending_rungs(state: LadderState, table: LadderTable) -> Iterator[tuple[Rung, Instant]]:
    row, clock = table.rows[state.ladder], state.clock
    for rung in Rung:
        seconds = row.seconds(rung)
        if seconds is None or rung in clock.done:
            continue
        if state.held_until is not None and rung not in state.exempt:
            continue
        at = min(clock.zero + ms(seconds), state.early.get(rung, clock.zero + ms(seconds)))
        yield rung, max(at, state.not_before.get(rung, at))


def _next_repeat(state: LadderState, table: LadderTable) -> Instant | None:
    row, clock = table.rows[state.ladder], state.clock
    if row.repeat_from_s is None:
        return None
    assert row.repeat_every_s is not None  # the model admits both or neither
    return clock.zero + ms(row.repeat_from_s) + clock.repeats * ms(row.repeat_every_s)


def _reach(state: LadderState, table: LadderTable, rung: Rung, now: Instant, standing: Standing) -> list[Step]:
    """Call a rung at its time, or skip it and call the next filled one in its place."""
    clock, row = state.clock, table.rows[state.ladder]
    clock.done.append(rung)
    state.began = now
    if _is_filled(rung, standing):
        if rung in state.skipped:
            state.skipped.remove(rung)
        return _call(state, rung, now, standing)
    if rung not in state.skipped:
        state.skipped.append(rung)
    steps = [Step(StepKind.SKIPPED, rung)]
    for following in _filled_above(rung, row, standing):
        if following not in clock.done:
            clock.done.append(following)
            return steps + _call(state, following, now, standing)
    below = _filled_below(rung, standing)
    return steps + _call(state, below[0], now, standing, with_deputy=True) if below else steps


def _repeat(state: LadderState, table: LadderTable, now: Instant, standing: Standing) -> list[Step]:
    """Call again: everybody called so far, or the charge nurse. Repeats missed meanwhile are made once."""
    row = table.rows[state.ladder]
    _pass_repeats(state, table, now)
    state.began = now
    if row.repeat_all:
        called = [Rung(rung) for rung in sorted(state.called)]
        steps = [step for rung in called for step in _call(state, rung, now, standing)]
    else:
        steps = _charge_or_next(state, row, now, standing)
    if _called(steps):
        return steps
    return steps + _lowest(state, row, now, standing)


def _charge_or_next(state: LadderState, row: LadderRow, now: Instant, standing: Standing) -> list[Step]:
    """Call the charge nurse; nobody there: the next filled rung in that place, else one below."""
    above = _filled_above(Rung.CHARGE, row, standing)
    if above and not _is_filled(Rung.CHARGE, standing):
        return [Step(StepKind.SKIPPED, Rung.CHARGE), *_call(state, above[0], now, standing)]
    return _call(state, Rung.CHARGE, now, standing)


def _called(steps: list[Step]) -> bool:
    return any(step.kind is StepKind.CALLED for step in steps)


def _lowest(state: LadderState, row: LadderRow, now: Instant, standing: Standing) -> list[Step]:
    """Call the lowest rung of the class on which anybody stands."""
    filled = [rung for rung in reachable(row) if _is_filled(rung, standing)]
    return _call(state, filled[0], now, standing) if filled else []


def _look_again(state: LadderState, table: LadderTable, now: Instant, standing: Standing) -> list[Step]:
    """Nobody could be called: call whoever stands now on a rung whose time has come, else the lowest filled."""
    clock = state.clock
    filled = [rung for rung in reachable(table.rows[state.ladder]) if _is_filled(rung, standing)]
    called = [rung for rung in filled if rung in clock.done] or filled[:1]
    clock.done = sorted({*clock.done, *called})
    return [step for rung in called for step in _call(state, rung, now, standing)]


def _nobody(
    state: LadderState, table: LadderTable, now: Instant, standing: Standing, made: list[Step]
) -> list[Step]:
    """Say that nobody at all can be called, and when that is looked at again; once somebody was, it is over."""
    if _called(made) or anybody(state, table, standing):
        state.nobody_since = state.nobody_at = None
        return []
    again_at = now + ms(table.handing_over.nobody_again_s)
    if state.nobody_at == again_at:  # several rungs at one moment: said once
        return []
    state.nobody_since, state.nobody_at = state.nobody_since or now, again_at
    return [Step(StepKind.NOBODY)]


def _pass_repeats(state: LadderState, table: LadderTable, now: Instant) -> None:
    due, every = _next_repeat(state, table), table.rows[state.ladder].repeat_every_s
    if due is not None and every is not None and due <= now:
        state.clock.repeats += (now - due) // ms(every) + 1


def _call(
    state: LadderState, rung: Rung, now: Instant, standing: Standing, with_deputy: bool = False
) -> list[Step]:
    """Call a rung; nobody stands there: skip it, and call the next filled one below."""
    people = standing(rung, with_deputy)
    if not people:
        below = _filled_below(rung, standing)
        return [Step(StepKind.SKIPPED, rung)] + (_call(state, below[0], now, standing) if below else [])
    again = rung in state.called
    state.called[rung] = now
    state.persons[rung] = people[0]
    return [Step(StepKind.CALLED, rung, person, again) for person in people]


def reachable(row: LadderRow) -> tuple[Rung, ...]:
    """Give the rungs that a class can reach, lowest first."""
    return tuple(rung for rung in Rung if row.seconds(rung) is not None)


def _is_filled(rung: Rung, standing: Standing) -> bool:
    return bool(standing(rung, False))


def _filled_above(rung: Rung, row: LadderRow, standing: Standing) -> list[Rung]:
    """Give the rungs of a class above one on which somebody stands, the next first. Rungs count from 1."""
    return [one for one in tuple(Rung)[rung:] if row.seconds(one) is not None and _is_filled(one, standing)]


def _filled_below(rung: Rung, standing: Standing) -> list[Rung]:
    """Give the rungs below one on which somebody stands, the next first."""
    return [one for one in reversed(tuple(Rung)[: rung - 1]) if _is_filled(one, standing)]
