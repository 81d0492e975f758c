"""A bed of the downtime sheet in words: what stands there, what is open, and its last values with their ages."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import tzinfo

from monitor.core.equipment.standing import span as length
from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.roster.wall import clock_of, dated
from monitor.core.view import EpisodeView, RunView, TileView, UnitView
from monitor.core.wire import LatestReadings
from monitor.reports.shift.card import MARKS, ORIGINS
from monitor.reports.shift.changes import measured, shown
from shared.instant import HOUR, MINUTE, Instant
from shared.language.saying import say
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import SUPPORT_LABEL, label_at

_FAR_MS = 12 * HOUR


@dataclass(frozen=True, slots=True)
class ValueRow:
    """One quantity: its last value with unit, when it was read and how old it was, its target and its limits."""

    label: str
    value: str
    read: str
    target: str
    limits: str


def age(span: int) -> str:
    """Write how old something is, to the minute; from two days on in days."""
    minutes = max(0, span) // MINUTE
    if minutes < 1:
        return "< 1 min"
    if minutes < 60:
        return f"{minutes} min"
    return f"{minutes // 60} h {minutes % 60:02} min" if span < 48 * HOUR else f"{span // (24 * HOUR)} d"


def value_rows(run: RunView, read: LatestReadings | None, now: Instant, zone: tzinfo) -> Iterator[ValueRow]:
    """Give every quantity that is fitted or was ever read, in the catalogue's order; ``--``: never read."""
    values = read.values if read is not None else {}
    for quantity in Q:
        if quantity not in run.description.sensors and quantity not in values:
            continue
        value, when_read = "--", say("never read")
        if quantity in values:
            at, found = values[quantity]
            value = _value(quantity, found) + _came_in(read, quantity)
            clock = clock_of(at, zone) if now - at < _FAR_MS else dated(at, zone)
            when_read = f"{clock}, {age(now - at)}"
        target = run.targets.get(quantity)
        aim = measured(quantity, target) if target is not None else ""
        yield ValueRow(label_at(quantity, run.description), value, when_read, aim, _limits(run, quantity))


def _value(quantity: Q, found: float) -> str:
    if quantity is Q.ON_MAINS:
        return say("on") if found else say("OFF: on battery")
    return measured(quantity, found)


def _came_in(read: LatestReadings | None, quantity: Q) -> str:
    """Say what a value is, where it is no plain measurement."""
    if read is None:
        return ""
    kinds = ((say("est."), read.estimated), (say("doubtful"), read.doubtful), (say("unchecked"), read.unchecked))
    return "".join(f" {word}" for word, of in kinds if quantity in of)


def _limits(run: RunView, quantity: Q) -> str:
    low, high = run.limits.get(quantity, (None, None))
    sides = (("≥", low), ("≤", high)) if quantity is not Q.ON_MAINS else ()
    ends = " ".join(f"{sign} {shown(quantity, limit)}" for sign, limit in sides if limit is not None)
    return f"{ends} {CATALOGUE[quantity].unit}".rstrip() if ends else ""


def head_words(tile: TileView, unit: UnitView, now: Instant) -> str:
    """Give support, day and run of a bed, and its nurse."""
    if not tile.runs:
        return say("No support run: nothing is watched here")
    runs = []
    for run in tile.runs:
        said = run.description
        began = said.started_at
        day = say(", day {it}", it=1 + max(0, now - began) // (24 * HOUR)) if began is not None else ""
        weight = f", {said.weight:g} kg" if said.weight is not None else ""
        pump = f" ({said.slot})" if len(tile.runs) > 1 else ""
        runs.append(
            say(
                "{support_label}{pump}{day}, run {run_id}{weight}",
                support_label=SUPPORT_LABEL[said.support],
                pump=pump,
                day=day,
                run_id=said.run_id,
                weight=weight,
            )
        )
    nurse = _label(unit, tile.nurse) if tile.nurse is not None else say("no nurse named")
    return f"{' + '.join(runs)} · {nurse}"


def origin_words(tile: TileView) -> str:
    """Say how the values come about: SIMULATED, HAND-ENTERED; nothing of a console's own."""
    return ORIGINS.get(tile.origin.value, "") if tile.origin is not None and tile.runs else ""


def open_words(episodes: tuple[EpisodeView, ...], unit: UnitView, zone: tzinfo) -> Iterator[str]:
    """Give what is open: mark, title, since when, who has it, who was called."""
    for one in episodes:
        mark = MARKS[one.priority.value]
        others = [alert.title for alert in one.alerts if alert.id != one.lead]
        title, since = one.title, clock_of(one.since, zone)
        if others:
            title = say("{title} with {others}", title=title, others=", ".join(others))
        if one.over:
            yield f"{mark} {say('{title}, since {since}: ended, not seen', title=title, since=since)}"
            continue
        if one.holder is not None:
            at = clock_of(one.holder.taken_at, zone)
            has = say("{who} has it since {at}", who=_label(unit, one.holder.person), at=at)
        elif one.ladder is not None:
            rungs = [_label(unit, rung.person) for rung in one.ladder.rungs if rung.person is not None]
            has = say("nobody has it")
            if rungs:
                has = say("nobody has it; called: {rungs}", rungs=", ".join(dict.fromkeys(rungs)))
        else:
            has = say("calls nobody")
        yield f"{mark} {say('{title}, since {since}: {has}', title=title, since=since, has=has)}"


def standing_words(tile: TileView, unit: UnitView, now: Instant, zone: tzinfo) -> Iterator[str]:
    """Give what stands at a bed: transport, off support, trials, own limits, call me if, devices, plans."""
    away = tile.transport
    if away is not None:
        back = (
            say("back, return check due")
            if away.ended_at is not None
            else say("back {when}", when=dated(away.back, zone))
        )
        where = say("In transport to {place}", place=away.destination) if away.destination else say("In transport")
        since, leader = clock_of(away.began, zone), _label(unit, away.leader)
        yield say(
            "{where} since {since}, {leader} leads, {back}", where=where, since=since, leader=leader, back=back
        )
    for run in tile.runs:
        pump = f"{SUPPORT_LABEL[run.description.support]}: " if len(tile.runs) > 1 else ""
        yield from (f"{pump}{words}" for words in _of_run(run, unit, now, zone))
    for event in tile.events:
        yield say("Planned {when}: {what}", when=dated(event.at, zone), what=event.what)
    if tile.not_watched:
        yield say("Not watched: {listed}", listed=", ".join(tile.not_watched))
    yield from tile.notes


def _of_run(run: RunView, unit: UnitView, now: Instant, zone: tzinfo) -> Iterator[str]:
    off = run.off_support
    if off is not None:
        yield say("OFF SUPPORT since {when}, by {label}", when=dated(off.since, zone), label=_label(unit, off.by))
    if run.trial is not None:
        floor = (
            say(", floor {floor_flow:g} L/min", floor_flow=run.trial.floor_flow)
            if run.trial.floor_flow is not None
            else ""
        )
        yield say(
            "Trial {kind} until {clock_of}{floor}",
            kind=run.trial.kind.value.replace("_", " "),
            clock_of=clock_of(run.trial.until, zone),
            floor=floor,
        )
    for limit in run.settable:
        if limit.own is not None:
            name, value = label_at(limit.quantity, run.description), measured(limit.quantity, limit.own.value)
            side, why = (">" if limit.above else "<"), f": {limit.own.reason}" if limit.own.reason else ""
            yield say(
                "OWN LIMIT {name} {side} {value} until {when}{why}",
                name=name,
                side=side,
                value=value,
                when=dated(limit.own.until, zone),
                why=why,
            )
    for wish in run.call_me:
        wanted = wish.below if wish.below is not None else wish.above
        side = say("below") if wish.below is not None else say("above")
        name = label_at(wish.quantity, run.description)
        amount = measured(wish.quantity, wanted or 0.0)
        until = dated(wish.until, zone)
        yield say(
            "Call {label} if {name} {side} {amount}, until {until}",
            label=_label(unit, wish.calls),
            name=name,
            side=side,
            amount=amount,
            until=until,
        )
    for item, note in run.findings.items():
        yield say("Finding: {item}", item=item) + (f" ({note})" if note else "")
    if not run.targets:
        yield say("No target stands")
    devices = (f"{name.replace('_', ' ')} {length(now - since)}" for name, since in run.device_since.items())
    in_use = ", ".join(devices)
    if in_use:
        yield say("In use: {in_use}", in_use=in_use)


def rung_words(unit: UnitView, zone: tzinfo) -> Iterator[str]:
    """Give who stands on each rung now, with the number to ring; nobody is said."""
    for cover in unit.cover:
        role = RUNG_LABEL[Rung(cover.rung)]
        if cover.person is None:
            since = (
                say(" since {when}", when=dated(cover.empty_since, zone)) if cover.empty_since is not None else ""
            )
            yield say("{role}: NOBODY{since}", role=role, since=since)
            continue
        said = f"{role}: {_reach(unit, cover.person)}"
        if cover.unreachable_until is not None:
            instead = (
                say(", instead {reach}", reach=_reach(unit, cover.instead)) if cover.instead is not None else ""
            )
            said += say(
                ", unreachable until {when}{instead}", when=dated(cover.unreachable_until, zone), instead=instead
            )
        yield said
    if unit.deputy is not None:
        yield say("Deputy of the nurses: {reach}", reach=_reach(unit, unit.deputy))


def phone_words(unit: UnitView) -> tuple[str, ...]:
    """Give everybody with a telephone number."""
    return tuple(f"{person.label}  {person.phone}" for person in unit.people if person.phone)


def _reach(unit: UnitView, name: str) -> str:
    phone = next((person.phone for person in unit.people if person.name == name), "")
    return f"{_label(unit, name)}  {phone}".rstrip()


def _label(unit: UnitView, name: str | None) -> str:
    return next((person.label for person in unit.people if person.name == name), name or "")
