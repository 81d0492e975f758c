"""What a handover card says, in words: the same sections in the same order for every bed, what differs first.

No verdict stands in it. What the hub worked out of the record comes with its own time; the rest stands now.
"""

from collections.abc import Iterator

from monitor.core.cards import BedCard, CardFigures, CardRow
from monitor.core.equipment.standing import span as length
from monitor.core.equipment.state import ItemState
from monitor.core.roster.state import OfferKind
from monitor.core.view import TileView, UnitView
from monitor.desk import words
from monitor.desk.device_words import told_ages
from monitor.desk.duepage.words import due_now, span, what_words
from monitor.desk.item_words import spare_words
from monitor.desk.paint.text import format_number
from monitor.desk.rosterpage.words import forecast_of, unseen, waiting_of
from monitor.desk.sheets.rows import Cell
from monitor.desk.sheets.sections import Columns, Section
from monitor.desk.standing import Line, call_words, event_words, limit_words, pump_words
from monitor.desk.store import Store
from monitor.desk.sweeppage.face import limit_ends, limited
from monitor.desk.tile.compose import support_words
from monitor.desk.tile.content import label_of
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import title_of
from shared.instant import HOUR
from shared.language.saying import say, to_say
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

NUMBERS = (
    (0.0, "12 h"),
    (0.21, to_say("Lowest")),
    (0.305, to_say("Median")),
    (0.4, to_say("Highest")),
    (0.495, to_say("Change")),
    (0.59, to_say("Outside target")),
    (0.765, to_say("Not judged")),
    (0.895, to_say("Not read")),
)
_BLOOD = (Q.ACT, Q.APTT, Q.APTT_RATIO, Q.ANTI_XA, Q.PLATELETS, Q.FIBRINOGEN)
_NOT_YET = to_say("The hub is asked for the last 12 h.")
_NONE = to_say("None")


def head_of(tile: TileView, store: Store, moment: Moment) -> str:
    """``B2 · VA · day 4 · Nurse 2``."""
    nurse = store.label(tile.nurse) if tile.nurse is not None else say("no nurse")
    return f"{tile.bed} · {support_words(tile, moment)} · {nurse}"


def first_of(tile: TileView, card: BedCard | None, store: Store, moment: Moment) -> Columns:
    """Give what differs from 12 h ago, and what is open and goes on."""
    differs = tuple(Line(one) for one in card.changes) if card is not None else (Line(say(_NOT_YET)),)
    return (
        (
            Section(say("Differs from 12 h ago"), differs or (Line(say("Nothing that was told or measured")),)),
            Section(say("Open, goes on"), tuple(_open(tile, card, store, moment)) or (Line(say(_NONE)),)),
        ),
    )


def _open(tile: TileView, card: BedCard | None, store: Store, moment: Moment) -> Iterator[Line]:
    """What is open by the log, or without it what is listed now; then findings, and what is due."""
    if card is not None:
        yield from (Line(one) for one in card.open)
    else:
        for one in tile.episodes:
            yield Line(
                say(
                    "{title_of}, since {hhmm}",
                    title_of=title_of(one, tile, moment),
                    hhmm=words.hhmm(one.since, moment.zone),
                )
            )
    for run in tile.runs:
        if run.off_support is not None:
            yield Line(
                say("Off support since {clock}", clock=words.clock(run.off_support.since, moment.zone)), True
            )
        for item, note in run.findings.items():
            yield Line(pump_words(tile, run) + say("Finding: {item}", item=item) + (f" ({note})" if note else ""))
    for due in due_now(store):
        if due.bed == tile.bed:
            yield Line(
                say("Due: {words}, for {span}", words=what_words(due, store), span=span(moment, due)), due.late
            )


def cells_of(row: CardRow, several: bool) -> tuple[Cell, ...]:
    """Give the row of a quantity; ``several``: the bed has two pumps."""
    pump = say(", pump {slot}", slot=row.slot) if several else ""
    values = tuple(Cell(_value(row, value)) for value in (row.low, row.median, row.high))
    outside = ""
    if row.judged is not None:
        outside = (
            say("{outside} of {judged} min", outside=row.outside, judged=row.judged)
            if row.has_target or row.judged
            else say("no target")
        )
    rest = (f"{row.not_judged} min", f"{row.no_reading} min") if row.judged is not None else ("", "")
    change = "--" if row.change is None else _signed(row, row.change)
    label = Cell(f"{row.label} {row.unit}{pump}".strip(), quiet=True)
    return (
        label,
        *values,
        Cell(change, bold=change[0] in "+−"),
        Cell(outside),
        *(Cell(one, quiet=True) for one in rest),
    )


def _value(row: CardRow, value: float | None) -> str:
    return format_number(value, CATALOGUE[row.quantity].decimals)


def _signed(row: CardRow, change: float) -> str:
    said = _value(row, change)
    return f"+{said}" if change > 0 and any(one in said for one in "123456789") else said


def rest_of(tile: TileView, card: BedCard | None, store: Store, moment: Moment) -> Columns:
    """Give targets, limits and calls; what is planned and the blood; equipment, alerts and answers."""
    alerts = tuple(Line(one) for one in card.alerts) if card is not None else (Line(say(_NOT_YET)),)
    return (
        (
            Section(say("Targets and limits now"), tuple(_limits(tile, store, moment))),
            Section(say("Call me if"), tuple(_calls(tile, store, moment)) or (Line(say(_NONE)),)),
        ),
        (
            Section(say("Planned"), tuple(event_words(tile, moment)) or (Line(say(_NONE)),)),
            Section(
                say("Anticoagulation and blood"),
                tuple(_blood(tile, store, moment)) or (Line(say("No value was entered")),),
            ),
        ),
        (
            Section(
                say("Equipment"),
                tuple(_equipment(tile, store, moment)) or (Line(say("None is written down here")),),
            ),
            Section(say("Alerts and answers, 12 h"), alerts),
        ),
    )


def _limits(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    for run in tile.runs:
        pump = pump_words(tile, run)
        aims = [
            words.tied(f"{label_of(q, run)} {words.reading(q, v)} {CATALOGUE[q].unit}".rstrip())
            for q, v in run.targets.items()
        ]
        yield Line(
            pump + (say("Targets: {aims}", aims=", ".join(aims)) if aims else say("No target is set")), not aims
        )
        ends = [words.tied(f"{label_of(quantity, run)} {limit_ends(run, quantity)}") for quantity in limited(run)]
        yield Line(pump + (say("Limits: {ends}", ends=", ".join(ends)) if ends else say("No limit is known")))
        for limit in run.settable:
            if limit.own is not None:
                said = limit_words(limit, run, lambda at: words.day_hhmm(at, moment.second, moment.zone))
                yield Line(
                    pump + " · ".join(part for part in (said, store.label(limit.own.by), limit.own.reason) if part),
                    True,
                )


def _calls(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    for run in tile.runs:
        for wish in run.call_me:
            said = call_words(wish, run, store, lambda at: words.day_hhmm(at, moment.second, moment.zone))
            yield Line(pump_words(tile, run) + said + (f" · {wish.note}" if wish.note else ""))


def _blood(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    for run in tile.runs:
        slot = run.description.slot
        heparin = store.readings.latest(tile.bed, slot, Q.HEPARIN_RATE)
        if heparin is not None:
            at = words.day_hhmm(heparin.read_at, moment.second, moment.zone)
            yield Line(
                say(
                    "Heparin {reading} {unit}, read {at}",
                    reading=words.reading(Q.HEPARIN_RATE, heparin.value),
                    unit=_unit(Q.HEPARIN_RATE),
                    at=at,
                )
            )
        meaning = store.meant.get((tile.bed, slot))
        for lab in meaning.labs if meaning is not None else ():
            if lab.quantity in _BLOOD:
                at = words.day_hhmm(lab.at, moment.second, moment.zone)
                due = (
                    ""
                    if lab.due_at is None
                    else say(", due {day_hhmm}", day_hhmm=words.day_hhmm(lab.due_at, moment.second, moment.zone))
                )
                was = (
                    ""
                    if lab.previous is None
                    else say(", was {reading}", reading=words.reading(lab.quantity, lab.previous.value))
                )
                label, unit = say(CATALOGUE[lab.quantity].label), _unit(lab.quantity)
                value = f"{label} {words.reading(lab.quantity, lab.value)} {unit}".rstrip()
                yield Line(say("{value}, drawn {at}{was}{due}", value=value, at=at, was=was, due=due), lab.overdue)


def _unit(quantity: Q) -> str:
    return CATALOGUE[quantity].unit


def _equipment(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    for run in tile.runs:
        ages = [
            f"{name.replace('_', ' ')} {length(moment.now - since)}" for name, since in run.device_since.items()
        ]
        if ages:
            yield Line(pump_words(tile, run) + say("In use: {ages}", ages=", ".join(ages)))
    yield from told_ages(tile, moment)
    for item in store.unit.equipment.items if store.unit is not None else ():
        if item.bed == tile.bed:
            where = "" if item.slot is not None else say(", beside the bed")
            state = "" if item.state is ItemState.IN_SERVICE else f": {item.state.value.replace('_', ' ')}"
            note = f" · {item.note}" if item.note else ""
            yield Line(f"{item.id}{where}{state}{note}", item.state is ItemState.QUARANTINED)


# -- the unit ---------------------------------------------------------------------------------------------------


def unit_first(unit: UnitView, figures: CardFigures | None, person: str | None, moment: Moment) -> Columns:
    """Give the changes of the configuration, and what is open of the unit."""
    new = unseen(unit, person)
    changed = tuple(
        Line(
            f"{words.day_hhmm(one.at, moment.second, moment.zone)}: {', '.join(one.files)}"
            + (say(" · not seen by you") if one in new else ""),
            one in new,
        )
        for one in unit.configured
    )
    open_ = tuple(Line(one) for one in figures.open) if figures is not None else (Line(say(_NOT_YET)),)
    return (
        (Section(say("Configuration changed, last 14 days"), changed or (Line(say(_NONE)),)),),
        (Section(say("Open of the unit, goes on"), open_ or (Line(say(_NONE)),)),),
    )


def _spares(unit: UnitView, moment: Moment) -> Iterator[Line]:
    said, short = spare_words(unit.equipment, moment)
    if said:
        yield Line(said, short)


def unit_rest(unit: UnitView, store: Store, moment: Moment) -> Columns:
    """Give what waits for somebody on the roster, holes to come, and equipment that must not be used."""
    waits = tuple(Line(f"{one.left}: {one.right}", one.bold) for one in waiting_of(store, unit.roster, moment))
    waits += tuple(_looked_at(unit, store, moment))
    holes = tuple(Line(f"{one.left}, {one.right}", one.bold) for one in forecast_of(unit.roster, moment))
    bad = tuple(
        Line(f"{item.id}: {item.why or say('quarantined')}", True)
        for item in unit.equipment.items
        if item.state is ItemState.QUARANTINED
    )
    return (
        (Section(say("Roster, open"), waits or (Line(say(_NONE)),)),),
        (Section(say("Empty within 24 h"), holes or (Line(say(_NONE)),)),),
        (
            Section(
                say("Equipment: spares, in quarantine"), (*_spares(unit, moment), *(bad or (Line(say(_NONE)),)))
            ),
        ),
    )


def _looked_at(unit: UnitView, store: Store, moment: Moment) -> Iterator[Line]:
    """How far those to whom posts are offered have come with the cards, for whoever hands over."""
    beds = [tile for tile in store.tiles.values() if tile.runs]
    for name in dict.fromkeys(one.to for one in unit.roster.offers if one.kind is OfferKind.HAND_OVER):
        seen = sum(moment.now - tile.cards.get(name, 0) <= HOUR for tile in beds)
        yield Line(
            say(
                "{name} looked at {seen} of {count} cards within the hour",
                name=store.label(name),
                seen=seen,
                count=len(beds),
            )
        )
