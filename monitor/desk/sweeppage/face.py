"""What a sweep looks at, bed by bed, in words: the same sections in the same order for every bed."""

from collections.abc import Iterator

from monitor.core.bedside.round_words import ROUND_WORDS
from monitor.core.point_marks import MEASURED, UNSURE_WORDS
from monitor.core.view import DueKind, RunView, TileView
from monitor.desk import words
from monitor.desk.duepage.words import due_now, span, what_words
from monitor.desk.need import is_of_the_past, wants_somebody
from monitor.desk.sheets.rows import Cell
from monitor.desk.sheets.sections import Columns, Section
from monitor.desk.standing import Line, event_words, gas_words, pump_words, write, write_unit
from monitor.desk.store import Store
from monitor.desk.tile.content import label_of
from monitor.desk.tile.moment import Moment
from monitor.desk.tile.need_words import holder_words, next_call, title_of
from monitor.desk.tile.numbers import Numbers
from shared.instant import HOUR
from shared.language.saying import say, to_say
from shared.messages import Origin
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

#: A look counts for the sweep of its hour.
SWEEP_MS = HOUR
#: What the other sections say already.
_ABOVE = frozenset({DueKind.READING, DueKind.NO_FEED, DueKind.ROUND, DueKind.EVENT})
_NO_ALERT = to_say("None is listed. That is no proof of safety.")


def age_words(tile: TileView, moment: Moment) -> str:
    """Say how old the last reading is: ``12 s old``, ``1 h 20 min old, nothing judged``."""
    if tile.last_reading_at is None:
        return say("never read")
    age = moment.second - tile.last_reading_at
    old = words.age_in_minutes(age) if tile.origin is Origin.ENTERED else words.age(age)
    return say("{old}, nothing judged", old=old) if tile.stale else old


def looked_words(tile: TileView, store: Store, moment: Moment) -> str:
    """``13:05 Charge 2``."""
    look = tile.looked
    return (
        f"{words.day_hhmm(look.at, moment.second, moment.zone)} {store.label(look.by)}" if look is not None else ""
    )


def is_swept(tile: TileView, moment: Moment) -> bool:
    """Tell whether somebody looked at the bed within the hour."""
    return tile.looked is not None and moment.now - tile.looked.at < SWEEP_MS


def row_of(tile: TileView, store: Store, moment: Moment) -> tuple[Cell, ...]:
    """Give the row of a bed: label, last reading, open alerts, the last look."""
    open_ = len(tile.episodes)
    due = sum(one.bed == tile.bed for one in due_now(store))
    counts = ", ".join(
        part
        for part in (say("{open} open", open=open_) if open_ else "", say("{due} due", due=due) if due else "")
        if part
    )
    if not tile.runs:
        return Cell(tile.bed), Cell(say("no run"), quiet=True), Cell(""), Cell("")
    return (
        Cell(tile.bed, bold=True),
        Cell(age_words(tile, moment).split(",")[0], bold=tile.stale),
        Cell(counts, bold=any(wants_somebody(one) for one in tile.episodes)),
        Cell(
            looked_words(tile, store, moment) or "--", bold=not is_swept(tile, moment), quiet=is_swept(tile, moment)
        ),
    )


def columns_of(tile: TileView, store: Store, moment: Moment) -> Columns:
    """Give what is looked at: reading, alerts, power; limits against targets; rounds and what is due."""
    return (
        (
            Section(say("Last reading"), tuple(_reading(tile, moment))),
            Section(say("Open alerts"), tuple(_alerts(tile, store, moment)) or (Line(say(_NO_ALERT)),)),
            Section(say("Power"), tuple(_power(tile, store, moment))),
        ),
        (
            Section(say("Limits against targets"), tuple(_limits(tile, store, moment))),
            Section(say("Rounds"), tuple(_rounds(tile, store, moment))),
            Section(
                say("Due besides"),
                tuple(_due(tile, store, moment)) or (Line(say("Nothing by what the hub knows")),),
            ),
            Section(say("Planned"), tuple(event_words(tile, moment)) or (Line(say("Nothing is written down")),)),
        ),
    )


def _reading(tile: TileView, moment: Moment) -> Iterator[Line]:
    yield Line(age_words(tile, moment), bold=tile.stale or moment.veiled)
    yield Line(
        say("{judged} of {rules} rules judged", judged=tile.judged, rules=tile.rules), bold=tile.judged < tile.rules
    )
    if tile.not_watched:
        yield Line(say("Not watched: {not_watched}", not_watched=", ".join(tile.not_watched)))


def _alerts(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    for one in tile.episodes:
        who = holder_words(one.holder, store, moment) if one.holder is not None else ""
        if not who:
            over = say("not seen") if is_of_the_past(one) else say("ended, not seen")
            who = (
                over
                if one.over
                else say("Nobody has it. {next_call}", next_call=next_call(one, store, moment)[0]).strip()
            )
        since = words.hhmm(one.since, moment.zone)
        yield Line(
            say("{title_of} · since {since} · {who}", title_of=title_of(one, tile, moment), since=since, who=who),
            bold=wants_somebody(one),
        )


def _power(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    power = Numbers(tile, store, moment).power()
    if power is None:
        yield Line(say("Not read here"))
    else:
        off = say("On battery: {words}", words=power.words) if power.on_mains is False else power.words
        yield Line(off or say("On mains"), bold=not power.on_mains)
    gas = gas_words(tile, moment)
    if gas:
        yield Line(gas)


def _limits(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    for run in tile.runs:
        pump = pump_words(tile, run)
        yield from (_limit(tile, run, quantity, store, moment) for quantity in run.targets)
        if Q.PUMP_FLOW not in run.targets:
            yield Line(pump + say("No target for the flow is set"), True)
        rest = [
            words.tied(f"{label_of(one, run)} {limit_ends(run, one)}")
            for one in limited(run)
            if one not in run.targets
        ]
        if rest:
            yield Line(pump + say("Limits without a target: {rest}", rest=", ".join(rest)))
        for limit in run.settable:
            if limit.own is not None:
                value = write_unit(limit.quantity, limit.own.value)
                until = words.day_hhmm(limit.own.until, moment.second, moment.zone)
                yield Line(
                    pump
                    + say(
                        "Own limit {label_of} {value} until {until}",
                        label_of=label_of(limit.quantity, run),
                        value=value,
                        until=until,
                    ),
                    True,
                )


def limited(run: RunView) -> list[Q]:
    """Give the quantities that have a limit of which something can be read."""
    return [one for one in run.limits if one is not Q.ON_MAINS]


def limit_ends(run: RunView, quantity: Q) -> str:
    """``< 60 or > 100 mmHg``, kept on one line."""
    low, high = run.limits[quantity]
    ends = [f"{side} {write(quantity, end)}" for side, end in (("<", low), (">", high)) if end is not None]
    return words.tied(f"{say(' or ').join(ends)} {CATALOGUE[quantity].unit}".rstrip())


def _limit(tile: TileView, run: RunView, quantity: Q, store: Store, moment: Moment) -> Line:
    """``Flow 4.1 · target 4.2 L/min · limit < 3.57 L/min``; bold where one of the two lies beyond it."""
    read = store.readings.latest(tile.bed, run.description.slot, quantity)
    now = None if read is None or Numbers(tile, store, moment).is_old(read) else read.value
    marks = MEASURED if read is None or now is None else read.unsure
    unsure = "".join(f" ({say(word)})" for mark, word in UNSURE_WORDS.items() if mark in marks)
    target, (low, high) = run.targets[quantity], run.limits.get(quantity, (None, None))
    parts = [
        f"{label_of(quantity, run)} {'--' if now is None else words.reading(quantity, now)}{unsure}",
        say(
            "target {tied}",
            tied=words.tied(write_unit(quantity, target)),
        ),
        say("limit {limit_ends}", limit_ends=limit_ends(run, quantity))
        if quantity in run.limits
        else say("no limit"),
    ]
    said = pump_words(tile, run) + " · ".join(parts)

    def is_beyond(value: float) -> bool:
        return (low is not None and value <= low) or (high is not None and value >= high)

    if is_beyond(target):
        return Line(say("{said}: the target lies beyond the limit", said=said), True)
    return Line(said, now is not None and is_beyond(now))


def _rounds(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    for run in tile.runs:
        pump = pump_words(tile, run)
        for one in run.rounds:
            last = say("not done yet")
            if one.done_at is not None:
                done = words.day_hhmm(one.done_at, moment.second, moment.zone)
                last = say("last {done} {by}", done=done, by=store.label(one.by))
            due = words.day_hhmm(one.due_at, moment.second, moment.zone)
            yield Line(
                pump
                + say(
                    "{round_words} due {due}, {last}", round_words=say(ROUND_WORDS[one.kind]), due=due, last=last
                ),
                one.due_at <= moment.second,
            )
        for item, note in run.findings.items():
            yield Line(pump + say("Finding: {item}", item=item) + (f" ({note})" if note else ""), True)


def _due(tile: TileView, store: Store, moment: Moment) -> Iterator[Line]:
    for one in due_now(store):
        if one.bed == tile.bed and one.kind not in _ABOVE:
            yield Line(say("{words}, for {span}", words=what_words(one, store), span=span(moment, one)), one.late)
