"""What stands at a bed until somebody ends it or its time is up: own limits, call me if, a transport. In words."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from monitor.core.bed_commands import DepartureItem
from monitor.core.bedside.round_words import ROUND_WORDS
from monitor.core.grades import Priority, TrialKind
from monitor.core.view import CallMeView, LimitView, ProposalView, RunView, TileView, TransportView, TrialView
from monitor.desk import words
from monitor.desk.need import leading, owes_reason
from monitor.desk.paint.text import format_number
from monitor.desk.store import Store
from monitor.desk.tile.content import label_of
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE, Instant
from shared.language.saying import say, to_say
from shared.language.writing import number
from shared.quantities import CATALOGUE, Quantity
from shared.support import SUPPORT_LABEL

#: An own limit that ends within this stands as a banner.
BANNER_MS = 15 * MINUTE
#: A reason is asked for within this after the take of a high.
REASON_WITHIN_MS = 10 * MINUTE

DEPARTURE_WORDS = {
    DepartureItem.CLAMPS: to_say("Two clamps"),
    DepartureItem.HAND_DRIVE: to_say("Hand drive"),
    DepartureItem.CYLINDER: to_say("Spare cylinder"),
    DepartureItem.SECOND_PERSON: to_say("Second person"),
}
Clock = Callable[[Instant], str]


@dataclass(frozen=True, slots=True)
class Line:
    """A line of what stands; ``bold``: somebody must act on it soon."""

    text: str
    bold: bool = False


def pump_words(tile: TileView, run: RunView) -> str:
    """``Pump 2 · ``: which pump a line is about; nothing where the bed has one."""
    return say("Pump {slot} · ", slot=run.description.slot) if len(tile.runs) > 1 else ""


def write(quantity: Quantity, value: float) -> str:
    """Write a limit as its quantity is written; with one more digit where the value has one."""
    digits = CATALOGUE[quantity].decimals
    scaled = value * 10**digits
    return format_number(value, digits + (digits > 0 and abs(scaled - round(scaled)) > 1e-6))


def write_unit(quantity: Quantity, value: float) -> str:
    """Write a limit or a target with its unit: ``−90 mmHg``."""
    return f"{write(quantity, value)} {CATALOGUE[quantity].unit}".rstrip()


def limit_words(limit: LimitView, run: RunView, clock: Clock) -> str:
    """``Own limit Drain P −90 mmHg until 14:45, default −100 mmHg``; without an own limit its default alone."""
    label = label_of(limit.quantity, run)
    default = (
        say("default {write}", write=write_unit(limit.quantity, limit.default))
        if limit.default is not None
        else say("default not known")
    )
    if limit.own is None:
        return f"{label}, {default}"
    return say(
        "Own limit {label} {write} until {clock}, {default}",
        label=label,
        write=write_unit(limit.quantity, limit.own.value),
        clock=clock(limit.own.until),
        default=default,
    )


def high_limits(tile: TileView, moment: Moment) -> list[str]:
    """Give a bed's own limits of high rules for its tile: ``High at own limit Flow 2.0 L/min until 14:45``."""
    return [
        pump_words(tile, run)
        + say(
            "High at own limit {label_of} {write} until {hhmm}",
            label_of=label_of(one.quantity, run),
            write=write_unit(one.quantity, one.own.value),
            hhmm=words.hhmm(one.own.until, moment.zone),
        )
        for run in tile.runs
        for one in run.settable
        if one.own is not None and one.priority is Priority.HIGH
    ]


def ending(tile: TileView, moment: Moment) -> list[str]:
    """Banners of own limits that end: ``Own limit Drain P −90 mmHg ends 14:45, default −100 mmHg returns``."""
    found: list[tuple[Instant, str]] = []
    for run in tile.runs:
        for limit in run.settable:
            own = limit.own
            if own is None or not 0 <= own.until - moment.second <= BANNER_MS:
                continue
            default = (
                say("default {write}", write=write_unit(limit.quantity, limit.default))
                if limit.default is not None
                else say("the default")
            )
            label, value = label_of(limit.quantity, run), write_unit(limit.quantity, own.value)
            when = words.hhmm(own.until, moment.zone)
            found.append(
                (
                    own.until,
                    pump_words(tile, run)
                    + say(
                        "Own limit {label} {value} ends {when}, {default} returns",
                        label=label,
                        value=value,
                        when=when,
                        default=default,
                    ),
                )
            )
    return [text for _, text in sorted(found)]


def call_words(wish: CallMeView, run: RunView, store: Store, clock: Clock) -> str:
    """``Perfusionist 1 if Flow below 3.5 L/min, until 16:00``."""
    below = wish.below is not None
    value = wish.below if wish.below is not None else wish.above
    limit = write_unit(wish.quantity, value if value is not None else 0.0)
    side = say("below") if below else say("above")
    label = label_of(wish.quantity, run)
    return say(
        "{calls} if {label} {side} {limit}, until {clock}",
        calls=store.label(wish.calls),
        label=label,
        side=side,
        limit=limit,
        clock=clock(wish.until),
    )


def silent_words(transport: TransportView, moment: Moment) -> str:
    """``In transport, no feed since 12:00``; empty where the feed is heard or was silent for a short while."""
    silent = no_feed_words(transport, moment)
    return say("In transport, {silent}", silent=silent) if silent else ""


def no_feed_words(transport: TransportView, moment: Moment) -> str:
    """``no feed since 12:00``; empty where the feed is heard or was silent for a short while."""
    if transport.silent_since is None or transport.ended_at is not None:
        return ""
    return say("no feed since {hhmm}", hhmm=words.hhmm(transport.silent_since, moment.zone))


def back_words(transport: TransportView, moment: Moment) -> str:
    """``back 14:45``, or ``late since 14:45`` once that is past."""
    when = words.hhmm(transport.back, moment.zone)
    return say("back {when}", when=when) if moment.second <= transport.back else say("late since {when}", when=when)


def gas_words(tile: TileView, moment: Moment) -> str:
    """``gas 48 min``, ``gas at most 48 min`` when nothing fresh is read; empty where no time can be told."""
    transport = tile.transport
    if transport is None or transport.ended_at is not None or transport.gas_empty_at is None:
        return ""
    left = max(0, (transport.gas_empty_at - moment.second) // MINUTE)
    return (
        say("gas at most {left} min", left=left)
        if tile.stale or moment.veiled
        else say("gas {left} min", left=left)
    )


def missing_words(transport: TransportView) -> str:
    """``Not ticked: hand drive, second person``; empty where the departure list is whole."""
    missing = [say(DEPARTURE_WORDS[item]).lower() for item in transport.missing]
    return (
        say("Not ticked: {missing}", missing=", ".join(missing)) if missing and transport.ended_at is None else ""
    )


def round_words(run: RunView, moment: Moment, side: str = "") -> Iterator[str]:
    """``Due: safety walk since 07:00``; ``Finding: Leaks and connectors (drop at the return line)``.

    ``side``: which pump, where the bed has two.
    """
    due = [
        say(
            "{round_words} since {hhmm}",
            round_words=say(ROUND_WORDS[one.kind]).lower(),
            hhmm=words.hhmm(one.due_at, moment.zone),
        )
        for one in run.rounds
        if one.due_at <= moment.second
    ]
    if due:
        yield say("Due{side}: {due}", side=side, due=", ".join(due))
    for item, note in run.findings.items():
        yield say("Finding{side}: {item}", side=side, item=item) + (f" ({note})" if note else "")


def event_words(tile: TileView, moment: Moment) -> Iterator[Line]:
    """``Planned 15:30 CT``; after its time ``Planned for 15:30, not ended: CT``."""
    for event in tile.events:
        when = words.day_hhmm(event.at, moment.second, moment.zone)
        if event.at <= moment.second:
            yield Line(say("Planned for {when}, not ended: {what}", when=when, what=event.what), True)
        else:
            yield Line(say("Planned {when} {what}", when=when, what=event.what))


def reason_words(tile: TileView, moment: Moment) -> str:
    """``Reason of the take? W``, with the time by which it is asked for; empty where none is owed."""
    lead = leading(tile)
    if lead is None or lead.holder is None or not owes_reason(tile):
        return ""
    by = lead.holder.taken_at + REASON_WITHIN_MS
    when = say("by {hhmm}", hhmm=words.hhmm(by, moment.zone)) if moment.second < by else say("overdue")
    return say("Reason of the take? {when} · W", when=when)


def standing_lines(tile: TileView, store: Store, moment: Moment, power: str) -> tuple[Line, ...]:
    """Give a bed page's lines: banners, off support, reason, transport, plans, trial, own limits, call me if."""
    return tuple(_lines(tile, store, moment, power))


def _lines(tile: TileView, store: Store, moment: Moment, power: str) -> Iterator[Line]:
    yield from (Line(text, True) for text in ending(tile, moment))
    for run in tile.runs:
        if run.off_support is not None:
            side = f", {say(SUPPORT_LABEL[run.description.support])}" if len(tile.runs) > 1 else ""
            since = words.clock(run.off_support.since, moment.zone)
            yield Line(
                say(
                    "Off support since {since}{side}, by {by} · back on: M Y",
                    since=since,
                    side=side,
                    by=store.label(run.off_support.by),
                ),
                True,
            )
    owed = reason_words(tile, moment)
    if owed:
        yield Line(owed, True)
    if tile.transport is not None:
        yield from _transport(tile, tile.transport, store, moment, power)
    yield from event_words(tile, moment)
    for run in tile.runs:
        if run.trial is not None:
            yield Line(pump_words(tile, run) + _trial(run.trial, store, moment))
        yield from (Line(text) for text in round_words(run, moment, _side(tile, run)))
    for run in tile.runs:
        for limit in run.settable:
            if limit.proposed is not None:
                proposed = proposal_words(limit, limit.proposed, run, store, moment)
                yield Line(pump_words(tile, run) + proposed, True)
            if limit.own is not None:
                own = limit.own
                people = say(" with ").join(store.label(name) for name in (own.by, own.second) if name)
                said = limit_words(limit, run, lambda at: words.hhmm(at, moment.zone))
                yield Line(pump_words(tile, run) + " · ".join(part for part in (said, people, own.reason) if part))
        for wish in run.call_me:
            note = f" · {wish.note}" if wish.note else ""
            said = call_words(wish, run, store, lambda at: words.hhmm(at, moment.zone))
            asked = say("Call {said} · asked by {by}{note}", said=said, by=store.label(wish.by), note=note)
            yield Line(pump_words(tile, run) + asked)


def _side(tile: TileView, run: RunView) -> str:
    """Say which pump is meant where a bed has two."""
    return say(", pump {slot}", slot=run.description.slot) if len(tile.runs) > 1 else ""


def proposal_words(limit: LimitView, one: ProposalView, run: RunView, store: Store, moment: Moment) -> str:
    """``Proposed, not in force: Flow below 2.0 L/min until 14:45 · Nurse 7 · ordered · answer: M L``."""
    side = say("above") if limit.above else say("below")
    what = f"{label_of(limit.quantity, run)} {side} {write_unit(limit.quantity, one.value)}"
    until = words.hhmm(one.until, moment.zone)
    parts = (
        say("Proposed, not in force: {what} until {until}", what=what, until=until),
        store.label(one.by),
        one.reason,
        say("answer: M L"),
    )
    return " · ".join(part for part in parts if part)


def trial_words(trial: TrialView, moment: Moment) -> str:
    """``Trial turn-down until 15:30, floor 1.0 L/min``."""
    floor = (
        say(", floor {floor_flow} L/min", floor_flow=number(trial.floor_flow, 1))
        if trial.floor_flow is not None
        else ""
    )
    kind = trial.kind.value.replace("_", "-" if trial.kind is TrialKind.TURN_DOWN else " ")
    return say(
        "Trial {kind} until {hhmm}{floor}", kind=kind, hhmm=words.hhmm(trial.until, moment.zone), floor=floor
    )


def _trial(trial: TrialView, store: Store, moment: Moment) -> str:
    return say(
        "{trial_words} · {by} with {second}",
        trial_words=trial_words(trial, moment),
        by=store.label(trial.by),
        second=store.label(trial.second),
    )


def _transport(
    tile: TileView, transport: TransportView, store: Store, moment: Moment, power: str
) -> Iterator[Line]:
    if transport.ended_at is not None:
        yield Line(
            say("Back since {hhmm}: return check due", hhmm=words.hhmm(transport.ended_at, moment.zone)), True
        )
        return
    where = say(" to {destination}", destination=transport.destination) if transport.destination else ""
    began, back = words.hhmm(transport.began, moment.zone), back_words(transport, moment)
    first = say(
        "In transport{where} since {began}, {leader} leads, {back}",
        where=where,
        began=began,
        leader=store.label(transport.leader),
        back=back,
    )
    minutes = (first, power, gas_words(tile, moment))
    yield Line(" · ".join(part for part in minutes if part), moment.second > transport.back)
    gone = [
        f"{say(DEPARTURE_WORDS[item]).lower()} {words.hhmm(at, moment.zone)}"
        for item, at in transport.departure.items()
    ]
    silent = no_feed_words(transport, moment)
    missing = missing_words(transport)
    told = (silent, missing, say("Ticked: {gone}", gone=", ".join(gone)) if gone else "")
    second = " · ".join(part for part in told if part)
    if second:
        yield Line(second[0].upper() + second[1:], bool(missing))
