"""The numbers of a tile: fresh ones as they are, lost and stale ones as ``--`` with what they were and when."""

import math

from monitor.analysis.arrow import Arrow
from monitor.core.view import RunView, TileView
from monitor.desk import words
from monitor.desk.need import need_of, order_of_need
from monitor.desk.readings import Latest
from monitor.desk.store import Store
from monitor.desk.tile import content
from monitor.desk.tile.face import LineFace, NumberFace, PlainFace, PowerFace, TrendFace
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE, SECOND, Instant
from shared.language.saying import say
from shared.look.need import Need
from shared.messages import Origin
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import Side

LOST = "--"


class Numbers:
    """Makes the number parts of one tile's face at one moment."""

    def __init__(self, tile: TileView, store: Store, moment: Moment) -> None:
        self._tile = tile
        self._store = store
        self._moment = moment
        self._out, self._limits = _what_is_out(tile)
        self._runs = {run.description.slot: run for run in tile.runs}
        self._stands = {slot: store.readings.stands(tile.bed, slot) for slot in self._runs}
        self._width = store.readings.width_ms(tile.bed)
        self._rows = content.trend_rows(tile, self._worse_slot())

    def trends(self) -> tuple[TrendFace, ...]:
        """Give the trend rows."""
        return tuple(map(self._trend, self._rows))

    def plain(self) -> tuple[PlainFace, ...]:
        """Give the plain numbers; with two runs the speeds and the difference of their flows."""
        if len(self._tile.runs) == 2:
            return self._plain_of_two()
        wanted = content.plain_quantities(self._tile, self._rows)
        return tuple(self._plain(slot, quantity) for slot, quantity in wanted)

    def power(self) -> PowerFace | None:
        """Give the worse power state of the bed's runs; ``None`` where no console says anything about it."""
        faces = [face for face in map(self._power, self._tile.runs) if face is not None]
        return min(faces, key=lambda face: {False: 0, None: 1, True: 2}[face.on_mains], default=None)

    # -- freshness ------------------------------------------------------------------------------------------

    def is_old(self, read: Latest) -> bool:
        """Tell whether a reading may no longer be shown as a number."""
        if self._moment.veiled or self._tile.stale:
            return True
        return self._moment.has_come(read.read_at + math.floor(self._tile.stale_after_s * SECOND) + 1)

    def _latest(self, slot: int, quantity: Q) -> Latest | None:
        if content.is_fitted(self._runs[slot], quantity):
            return self._stands[slot].get(quantity)
        others = [other for other, run in self._runs.items() if content.is_fitted(run, quantity)]
        return self._stands[others[0]].get(quantity) if others else None

    # -- trends ---------------------------------------------------------------------------------------------

    def _trend(self, row: content.Row) -> TrendFace:
        run = self._runs[row.slots[0]]
        label, unit = self._label(row, run)
        low, high = run.limits.get(row.quantity, (None, None)) if not row.spread else (None, None)
        scale = content.scale_of(row.quantity, run, row.spread)
        lines = tuple(LineFace(slot, row.quantity, n > 0, row.spread) for n, slot in enumerate(row.slots))
        fresh = [self._latest(slot, row.quantity) for slot in row.slots]
        newest = fresh[0]
        live = newest is not None and not self.is_old(newest)
        by_hand = self._tile.origin is Origin.ENTERED
        # a set stands for hours: what was not read since then is part of the picture
        end = newest.read_at if live and newest is not None and not by_hand else self._column_now()
        return TrendFace(
            label=label,
            unit=unit,
            numbers=tuple(self._number(row, slot) for slot in row.slots),
            lines=lines,
            scale=scale,
            band=None if row.spread else _band(run, row.quantity, low, high, scale),
            ticks=tuple(value for value in (low, high) if value is not None),
            orders=self._tile.orders,
            began=run.description.started_at,
            by_hand=by_hand,
            live=live,
            newest=tuple(_fine(read.value, scale) for read in fresh if read) if live and not row.spread else (),
            ends=tuple(self._end(slot, row.quantity, scale) for slot in row.slots),
            end=end,
            column=end // self._width,
        )

    def _column_now(self) -> Instant:
        """Give the begin of the column in which it is now: within it a trend ends alike."""
        return self._moment.whole(0, self._width) * self._width

    def _end(self, slot: int, quantity: Q, scale: tuple[float, float]) -> tuple[int, int, int]:
        late, low, high = self._store.readings.newest(self._tile.bed, slot, quantity)
        return late, _step(low, scale), _step(high, scale)

    def _label(self, row: content.Row, run: RunView) -> tuple[str, str]:
        if row.spread:
            return say("Steadiness"), say("L/min range")
        label = content.label_of(row.quantity, run)
        unit = CATALOGUE[row.quantity].unit
        if len(self._tile.runs) == 2 and row.quantity is Q.INLET_PRESSURE:
            label += f" {self._side(row.slots[0])}"
        newest = self._latest(row.slots[0], row.quantity)
        if row.quantity is Q.PUMP_FLOW and newest is not None and newest.estimated:
            label += say(" est.")
        return label, unit

    def _number(self, row: content.Row, slot: int) -> NumberFace:
        side = self._side(slot) if len(row.slots) > 1 else ""
        if row.spread:
            return self._spread(slot)
        run = self._runs[slot]
        read = self._latest(slot, row.quantity)
        target = run.targets.get(row.quantity)
        beside = f"/ {words.reading(row.quantity, target)}" if target is not None else ""
        if read is None:
            return NumberFace(LOST, target=beside, side=side)
        value = words.reading(row.quantity, read.value)
        if self.is_old(read):
            return NumberFace(
                LOST,
                was=say("{value} at {hhmm}", value=value, hhmm=words.hhmm(read.read_at, self._moment.zone)),
                side=side,
            )
        key = (slot, row.quantity)
        limit = self._limits.get(key)
        return NumberFace(
            value,
            target=beside,
            limit=say("limit {reading}", reading=words.reading(row.quantity, limit)) if limit is not None else "",
            hollow=read.estimated,
            side=side,
            out=self._out.get(key),
            arrow=self._arrow(slot, row.quantity, read),
            unsure=read.unsure,
        )

    def _arrow(self, slot: int, quantity: Q, read: Latest) -> Arrow:
        """Give the arrow of a measured value; none of one that is estimated, in doubt or entered by hand."""
        if read.estimated or read.unsure or self._tile.origin is Origin.ENTERED:
            return Arrow.NONE
        return self._store.readings.arrow(self._tile.bed, slot, quantity, read.read_at)

    def _spread(self, slot: int) -> NumberFace:
        """The range of the flow within the last two columns, about a minute."""
        read = self._latest(slot, Q.PUMP_FLOW)
        if read is None or self.is_old(read):
            return NumberFace(LOST)
        window = self._store.readings.window(self._tile.bed, slot, Q.PUMP_FLOW, self._column_now())
        spans = [high - low for low, high in zip(window.low[-2:], window.high[-2:], strict=True) if high >= low]
        return NumberFace(words.reading(Q.PUMP_FLOW, max(spans))) if spans else NumberFace(LOST)

    def _side(self, slot: int) -> str:
        side = self._runs[slot].description.side
        return {Side.LEFT: "L", Side.RIGHT: "R"}.get(side, str(slot))

    def _worse_slot(self) -> int:
        reads = [
            (read.value, run.description.slot)
            for run in self._tile.runs
            if (read := self._stands[run.description.slot].get(Q.INLET_PRESSURE))
        ]
        return min(reads, default=(0.0, self._tile.runs[0].description.slot))[1]

    # -- plain numbers and power ----------------------------------------------------------------------------

    def _plain(self, slot: int, quantity: Q, side: str = "") -> PlainFace:
        run = self._runs[slot]
        label = " ".join(filter(None, (content.label_of(quantity, run), side)))
        read = self._latest(slot, quantity)
        if read is None or self.is_old(read):
            return PlainFace(label, LOST, CATALOGUE[quantity].unit)
        out = self._out.get((slot, quantity))
        return PlainFace(label, words.reading(quantity, read.value), CATALOGUE[quantity].unit, out, read.unsure)

    def _plain_of_two(self) -> tuple[PlainFace, ...]:
        slots = [run.description.slot for run in self._tile.runs]
        speeds = tuple(self._plain(slot, Q.PUMP_SPEED, self._side(slot)) for slot in slots)
        flows = {self._side(slot): self._latest(slot, Q.PUMP_FLOW) for slot in slots}
        left, right = flows.get("L"), flows.get("R")
        if "L" not in flows or "R" not in flows:
            return speeds
        if left is None or right is None or self.is_old(left) or self.is_old(right):
            return (*speeds, PlainFace(say("Flow L − R"), LOST, "L/min"))
        value = words.reading(Q.PUMP_FLOW, left.value - right.value)
        return (*speeds, PlainFace(say("Flow L − R"), value, "L/min", unsure=left.unsure | right.unsure))

    def _power(self, run: RunView) -> PowerFace | None:
        slot = run.description.slot
        if Q.ON_MAINS not in run.description.sensors:
            return None
        mains = self._stands[slot].get(Q.ON_MAINS)
        if mains is None:
            return PowerFace(None, say("power unknown"))
        if self._moment.veiled and mains.value >= 0.5:
            return None
        if self.is_old(mains) and mains.value >= 0.5:
            return PowerFace(None, say("mains at {hhmm}", hhmm=words.hhmm(mains.read_at, self._moment.zone)))
        if mains.value >= 0.5:
            return PowerFace(True)
        shown = self._stands[slot].get(Q.BATTERY_MINUTES)
        return PowerFace(False, self._battery_words(run, mains, shown))

    def _battery_words(self, run: RunView, mains: Latest, shown: Latest | None) -> str:
        """The least of what the console shows and what the rules project; an old figure counts down."""
        left: list[float] = []
        if shown is not None:
            gone = (self._moment.now - shown.read_at) / MINUTE if self.is_old(shown) else 0.0
            left.append(shown.value - gone)
        if run.battery_empty_at is not None:
            left.append((run.battery_empty_at - self._moment.now) / MINUTE)
        if not left:
            return say("battery")
        minutes = max(0, int(min(left)))
        return say("at most {minutes} min", minutes=minutes) if self.is_old(shown or mains) else f"{minutes} min"


Key = tuple[int, Q]
_STEPS = 60  # of a scale: about half a pixel of a trend's height


def _step(value: float, scale: tuple[float, float]) -> int:
    """The place of a value on its scale in whole steps, a little beyond it at most."""
    if value != value:
        return -10
    share = (value - scale[0]) / (scale[1] - scale[0])
    return round(_STEPS * min(1.05, max(-0.05, share)))


def _fine(value: float, scale: tuple[float, float]) -> float:
    return scale[0] + _step(value, scale) / _STEPS * (scale[1] - scale[0])


def _what_is_out(tile: TileView) -> tuple[dict[Key, Need], dict[Key, float]]:
    """The needs and limits of the values that are out now; the worst need of a value wins."""
    out: dict[Key, Need] = {}
    limits: dict[Key, float] = {}
    for episode in sorted(tile.episodes, key=order_of_need):
        for alert in episode.alerts:
            if not alert.present or alert.quantity is None:
                continue
            slots = (alert.slot,) if alert.slot is not None else tuple(run.description.slot for run in tile.runs)
            for slot in slots:
                key = (slot, alert.quantity)
                out.setdefault(key, need_of(episode))
                if alert.limit is not None:
                    limits.setdefault(key, alert.limit)
    return out, limits


def _band(
    run: RunView, quantity: Q, low: float | None, high: float | None, scale: tuple[float, float]
) -> tuple[float, float] | None:
    """The pale band: between the limits, or as far above the target as the low limit is below it."""
    if low is not None and high is None and (target := run.targets.get(quantity)) is not None:
        high = 2 * target - low
    if low is None or high is None:
        return None
    bottom, top = max(low, scale[0]), min(high, scale[1])
    return (bottom, top) if bottom < top else None
