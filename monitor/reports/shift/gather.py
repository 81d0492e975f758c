"""From a record to the figures of some hours. One pass over the log, one over the readings of each place."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from monitor.analysis.annunciations import Annunciation, Observed, hours
from monitor.core.annunciations import OF_LOAD, Annunciations
from monitor.core.entries import Entry, EntryKind
from monitor.core.entry_words import words_of
from monitor.core.grades import Rung
from monitor.core.roster.holding import holding
from monitor.core.roster.post import post_of
from monitor.core.titles import rule_name
from monitor.core.view import CallMeView, RunView, TileView
from monitor.record.configurations import changes
from monitor.record.hours_reading import NOTHING, Caused, HoursReading
from monitor.record.moments import utc
from monitor.reports.shift.alerts import alerts_of, unanswered_s
from monitor.reports.shift.changes import changes_of
from monitor.reports.shift.figures import (
    BedFigures,
    Event,
    LimitFigures,
    QuantityFigures,
    RunFigures,
    ShiftReport,
    TargetFigures,
    UnitFigures,
)
from monitor.reports.shift.open_items import OpenItem, open_items
from monitor.reports.shift.readings import Drawn, drawn_of, figures_of, medians_of
from monitor.reports.shift.runs import RunSpan, run_spans
from monitor.reports.shift.standing import Standing, configuration_in, standing_at
from shared.errors import RecordError
from shared.instant import MINUTE, Instant
from shared.language.saying import say
from shared.messages import Origin
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import RunDescription, label_at

K = EntryKind
#: In this order, where they are fitted.
SHOWN = (
    Q.PUMP_FLOW, Q.PUMP_SPEED, Q.INLET_PRESSURE, Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE,
    Q.MEAN_ARTERIAL_PRESSURE, Q.SPO2_RIGHT_HAND, Q.SVO2, Q.SWEEP_GAS_FLOW,
)  # fmt: skip
#: What is listed of a bed one by one; alerts are counted, and those that are open are listed.
_TOLD = frozenset({
    K.ORDER, K.TARGET, K.LIMIT_SET, K.LIMIT_ENDED,
    K.LIMIT_PROPOSED, K.PROPOSAL_ENDED, K.CALL_ME_SET, K.CALL_ME_ENDED, K.EXCHANGE, K.TRIAL_STARTED,
    K.TRIAL_ENDED, K.TRANSPORT_STARTED, K.TRANSPORT_ENDED, K.RETURN_CHECKED, K.CYLINDER, K.RUN_STARTED, K.RUN_ENDED,
    K.RUN_MOVED, K.CARE_MARKER, K.FEED_LOST, K.FEED_BACK, K.OFF_SUPPORT, K.BACK_ON_SUPPORT, K.CARD,
    K.EVENT_PLANNED, K.EVENT_OVER, K.SET_UNCHECKED,
})  # fmt: skip
_OF_UNIT = frozenset({K.UNCOVERED, K.COVERED, K.UNREACHABLE, K.REACHABLE, K.NOTE, K.NOBODY_THERE})


@dataclass(slots=True)
class Gathered:
    """The figures, and what the trends are drawn of, by bed, slot and quantity."""

    report: ShiftReport
    label: Callable[[str | None], str]
    standing: Standing
    drawn: dict[tuple[str, int, Q], Drawn] = field(default_factory=dict)


@dataclass(slots=True)
class _Material:
    """What was read, as each part of the figures needs it."""

    reading: HoursReading
    caused: list[Caused]
    entries: list[Entry]
    alerts: list[Annunciation]
    observed: Observed
    items: list[OpenItem]
    spans: list[RunSpan]
    before: Standing | None
    after: Standing
    label: Callable[[str | None], str]

    @property
    def span(self) -> tuple[Instant, Instant]:
        return self.reading.begin, self.reading.end

    def within(self, kinds: Iterable[EntryKind], bed: str | None) -> tuple[Event, ...]:
        """Give the events of a bed or of the unit within the hours that say something."""
        wanted = frozenset(kinds)
        found = (
            Event(entry.at, entry.kind.value, words_of(entry, self.label))
            for entry in self.entries
            if entry.bed == bed and entry.kind in wanted and entry.at >= self.reading.begin
        )
        return tuple(event for event in found if event.words)


def gather(reading: HoursReading, shift: str, last: Instant) -> Gathered:
    """Work everything out. ``last``: the last moment that the record knows of.

    Raises:
        RecordError: the record had not begun by the end of the hours, or cannot be read.
    """
    if reading.begin > last:
        raise RecordError(f"the record ends before these hours, {utc(last)}")
    goes_on = reading.end > last + 1
    if goes_on:
        reading = reading.until(last + 1)
    here = _material(reading)
    drawn: dict[tuple[str, int, Q], Drawn] = {}
    runs = _runs(here, drawn)
    beds = tuple(_bed(here, bed, tuple(runs.get(bed, ()))) for bed in here.after.tiles)
    unit = here.after.configuration.unit.name
    report = ShiftReport(unit, shift, reading.begin, reading.end, goes_on, _unit(here), beds)
    return Gathered(report, here.label, here.after, drawn)


def _material(reading: HoursReading) -> _Material:
    caused = reading.entries()
    entries = [one.entry for one in caused]
    after = standing_at(reading, reading.end)
    if after is None or reading.end <= reading.begin:
        raise RecordError("the record had not begun in these hours: see when it did (load RECORD)")
    before = standing_at(reading, reading.begin)
    first = min(reading.configured().items())[1]
    found = Annunciations(reading.begin)
    for entry in entries:
        if entry.kind in OF_LOAD:
            found.take(entry)
    came_back = reading.came_back()
    if came_back is not None:  # the hub may have been away as the hours ended
        found.take(came_back)
    labels = {person.name: person.label for person in after.configuration.unit.people}
    return _Material(
        reading=reading,
        caused=caused,
        entries=entries,
        alerts=found.alerts(),
        observed=found.observed(reading.end),
        items=open_items(entries),
        spans=run_spans(caused, configuration_in(first).unit),
        before=before,
        after=after,
        label=lambda person: labels.get(person or "", person or "nobody"),
    )


def _runs(here: _Material, drawn: dict[tuple[str, int, Q], Drawn]) -> dict[str, list[RunFigures]]:
    """Give the runs of each bed, by slot, and keep what their trends are drawn of."""
    begin, end = here.span
    widths = here.after.configuration.unit.outside_target
    late_s = here.after.configuration.ladder.timings.entered_set_s
    places = {(bed, slot): number for number, bed, slot in here.reading.places()}
    found: dict[str, list[RunFigures]] = {}
    for span in sorted(here.spans, key=lambda span: (span.slot, span.begin)):
        hours_ = max(begin, span.begin), min(end, span.end if span.end is not None else end)
        if hours_[0] >= hours_[1]:
            continue
        place = places.get((span.bed, span.slot))
        view, tile = _view(here, span)
        interval = 1 if tile is None else round(tile.interval_s * 1000)
        if tile is not None and tile.origin is Origin.ENTERED:
            interval = MINUTE
        series = here.reading.readings(place, late_s) if place is not None else {}
        figures: list[QuantityFigures] = []
        for quantity in SHOWN:
            shown = series if view is None else view.description.sensors
            if quantity not in shown:
                continue
            part = series.get(quantity, NOTHING).within(*hours_)
            middle = medians_of(part)
            figures.append(figures_of(quantity, part, middle, span, hours_, widths, interval))
            drawn[span.bed, span.slot, quantity] = drawn_of(part, middle)
        found.setdefault(span.bed, []).append(_run(span, view, tuple(figures), end, here.label))
    return found


def _view(here: _Material, span: RunSpan) -> tuple[RunView | None, TileView | None]:
    """Give how a run stands at the end; none where it is over by then."""
    tile = here.after.tiles.get(span.bed)
    is_over = span.end is not None and span.end < here.reading.end
    runs = () if tile is None or is_over else tile.runs
    return next((run for run in runs if run.description.slot == span.slot), None), tile


def _run(
    span: RunSpan, view: RunView | None, quantities: tuple[QuantityFigures, ...], end: Instant,
    label: Callable[[str | None], str],
) -> RunFigures:  # fmt: skip
    standing = [aim for quantity in Q if (aim := span.aim(quantity, end - 1)) is not None]
    return RunFigures(
        slot=span.slot,
        words=span.words,
        began=span.begin,
        ended=span.end if span.end is not None and span.end < end else None,
        targets=tuple(TargetFigures(a.quantity, a.value, a.since, a.by, a.prescriber) for a in standing),
        limits=_limits(view) if view is not None else (),
        call_me=tuple(_call_me(one, view.description, label) for one in view.call_me) if view is not None else (),
        devices=dict(view.device_since) if view is not None else {},
        quantities=quantities,
        description=view.description if view is not None else None,
        findings=dict(view.findings) if view is not None else {},
    )


def _limits(view: RunView) -> tuple[LimitFigures, ...]:
    return tuple(
        LimitFigures(one.rule, one.quantity, one.above, one.default)
        if one.own is None
        else LimitFigures(
            one.rule, one.quantity, one.above, one.own.value, one.own.by, one.own.second, one.own.until,
            one.own.reason,
        )
        for one in view.settable
    )  # fmt: skip


def _call_me(one: CallMeView, run: RunDescription, label: Callable[[str | None], str]) -> str:
    note = f": {one.note}" if one.note else ""
    asked = say("{label} below", label=label_at(one.quantity, run))
    if one.below is None:
        asked = say("{label} above", label=label_at(one.quantity, run))
    value = f"{one.below if one.below is not None else one.above:g} {CATALOGUE[one.quantity].unit}".rstrip()
    words = f"{asked} {value}{note}"
    return say("Call {who} if {words}", who=label(one.calls), words=words).replace("-", "−")


def _bed(here: _Material, bed: str, runs: tuple[RunFigures, ...]) -> BedFigures:
    begin, end = here.span
    tile = here.after.tiles[bed]
    before = here.before.tiles.get(bed) if here.before is not None else None
    mine = [entry for entry in here.entries if entry.bed == bed]
    return BedFigures(
        bed=bed,
        origin=tile.origin.value if tile.origin is not None else None,
        nurse=tile.nurse,
        changes=tuple(changes_of(before, tile, runs, begin)),
        runs=runs,
        alerts=alerts_of([alert for alert in here.alerts if alert.bed == bed], mine, begin, end),
        open=_open(here.items, bed, end),
        carried=_open(here.items, bed, begin),
        events=here.within(_TOLD, bed),
        planned=tuple(Event(one.at, "planned", f"{one.what}, {here.label(one.by)}") for one in tile.events),
    )


def _open(items: list[OpenItem], bed: str | None, at: Instant) -> tuple[OpenItem, ...]:
    return tuple(item for item in items if item.bed == bed and item.is_open(at))


def _unit(here: _Material) -> UnitFigures:
    begin, end = here.span
    asked = [one for one in here.alerts if begin <= one.at < end and one.priority != "low" and not one.held]
    longest = max(asked, key=lambda one: unanswered_s(one, end), default=None)
    numbers = [one.number for one in here.caused if one.entry.at >= begin]
    log = (min(numbers, default=0), max(numbers, default=0))
    return UnitFigures(
        alerts=alerts_of(here.alerts, here.entries, begin, end),
        bed_hours=hours(here.observed.runs or (), begin, end),
        silent_hours=hours(here.observed.silent, begin, end),
        away_hours=hours(here.observed.away, begin, end),
        uncovered_min=_uncovered(here),
        pages=_pages(here),
        longest=None
        if longest is None
        else (longest.bed or "unit", rule_name(longest.rule), unanswered_s(longest, end)),
        open=_open(here.items, None, end),
        carried=_open(here.items, None, begin),
        configured=_configured(here),
        events=here.within(_OF_UNIT, None),
        log=(*log, here.reading.broken(*log) if numbers else None),
        anew=here.after.anew or (here.before is not None and here.before.anew),
    )


def _uncovered(here: _Material) -> dict[int, float]:
    """Minutes in which nobody stood on a rung; at the bedside, for as long as a run was open there."""
    begin, end = here.span
    found = {int(rung): 0.0 for rung in Rung}
    for key, turns in holding(here.entries, begin, end).items():
        post = post_of(key)
        if post.rung is Rung.BEDSIDE and post.bed is None:
            continue  # the deputy stands in for others
        open_ = [(begin, end)] if post.bed is None else _open_at(here.spans, post.bed, begin, end)
        for turn in turns:
            if turn.person is None:
                found[int(post.rung)] += sum(
                    max(0, min(turn.ends, last) - max(turn.begins, first)) / MINUTE for first, last in open_
                )
    return found


def _open_at(spans: list[RunSpan], bed: str, begin: Instant, end: Instant) -> list[tuple[Instant, Instant]]:
    """Give when any run was open at a bed, without overlap."""
    parts = sorted((s.begin, s.end if s.end is not None else end) for s in spans if s.bed == bed)
    found: list[tuple[Instant, Instant]] = []
    for first, last in parts:
        if found and first <= found[-1][1]:
            found[-1] = (found[-1][0], max(found[-1][1], last))
        else:
            found.append((first, last))
    return [(max(first, begin), min(last, end)) for first, last in found]


def _pages(here: _Material) -> dict[str, int]:
    """Count the pages of calls of these hours by how each stood last."""
    last: dict[int, str] = {}
    old: set[int] = set()
    for entry in here.entries:
        if entry.kind is not K.PAGED or entry.page is None or entry.page_state is None or entry.page in old:
            continue
        if entry.at < here.reading.begin:
            old.add(entry.page)
        else:
            last[entry.page] = entry.page_state.value
    return {state: list(last.values()).count(state) for state in sorted(set(last.values()))}


def _configured(here: _Material) -> tuple[Event, ...]:
    """Tell which files another configuration changed within the hours."""
    known = [one for _, one in sorted(here.reading.configured().items())]
    return tuple(
        Event(at, "configuration", say("Changed: {listed}", listed=", ".join(files)))
        for at, files in changes(known)
        if here.reading.begin <= at < here.reading.end
    )
