"""The numbers of a tile: fresh ones as they are, lost and stale ones as ``--`` with what they were and when."""

import math

from monitor.analysis.arrow import Arrow
from monitor.core.view import RunView, TileView
from monitor.desk import words
from monitor.desk.need import need_of, order_of_need
from monitor.desk.readings import Latest
from monitor.desk.store import Store
from monitor.desk.tile import content
from monitor.desk.tile.face import NumberFace, PlainFace, PowerFace, TrendFace
from monitor.desk.tile.frame import Frames, RowFrame, side_of
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE, SECOND, Instant
from shared.language.saying import say
from shared.look.need import Need
from shared.messages import Origin
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q

LOST = "--"


class Numbers:
    """Makes the number parts of one tile's face at one moment; with ``frames`` what they keep is not made again."""

    def __init__(self, tile: TileView, store: Store, moment: Moment, frames: Frames | None = None) -> None:
        self._tile = tile
        self._store = store
        self._moment = moment
        self._out, self._limits = _what_is_out(tile)
        slots = [run.description.slot for run in tile.runs]
        self._stands = {slot: store.readings.stands(tile.bed, slot) for slot in slots}
        self._width = store.readings.width_ms(tile.bed)
        self._frame = (frames or Frames()).of(tile, self._worse_slot())

    def trends(self) -> tuple[TrendFace, ...]:
        """Give the trend rows."""
        return tuple(map(self._trend, self._frame.rows))

    def plain(self) -> tuple[PlainFace, ...]:
        """Give the plain numbers; with two runs the speeds and the difference of their flows."""
        if len(self._tile.runs) == 2:
            return self._plain_of_two()
        return tuple(self._plain(slot, quantity, label) for slot, quantity, label in self._frame.plain)

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
        read_by = self._frame.slot_of(slot, quantity)
        return self._stands[read_by].get(quantity) if read_by is not None else None

    # -- trends ---------------------------------------------------------------------------------------------

    def _trend(self, frame: RowFrame) -> TrendFace:
        row, scale = frame.row, frame.scale
        fresh = [self._latest(slot, row.quantity) for slot in row.slots]
        newest = fresh[0]
        live = newest is not None and not self.is_old(newest)
        by_hand = self._tile.origin is Origin.ENTERED
        # a set stands for hours: what was not read since then is part of the picture
        end = newest.read_at if live and newest is not None and not by_hand else self._column_now()
        return TrendFace(
            label=self._label(frame),
            unit=frame.unit,
            numbers=tuple(self._number(frame, slot) for slot in row.slots),
            lines=frame.lines,
            scale=scale,
            band=frame.band,
            ticks=frame.ticks,
            orders=self._tile.orders,
            began=self._frame.runs[row.slots[0]].description.started_at,
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

    def _label(self, frame: RowFrame) -> str:
        """The label of a row; a flow that the console estimates says so."""
        row = frame.row
        if row.spread or row.quantity is not Q.PUMP_FLOW:
            return frame.label
        newest = self._latest(row.slots[0], row.quantity)
        return frame.label + say(" est.") if newest is not None and newest.estimated else frame.label

    def _number(self, frame: RowFrame, slot: int) -> NumberFace:
        row = frame.row
        if row.spread:
            return self._spread(slot)
        side, beside = frame.sides[slot], frame.targets[slot]
        read = self._latest(slot, row.quantity)
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

    def _worse_slot(self) -> int:
        reads = [
            (read.value, run.description.slot)
            for run in self._tile.runs
            if (read := self._stands[run.description.slot].get(Q.INLET_PRESSURE))
        ]
        return min(reads, default=(0.0, self._tile.runs[0].description.slot))[1]

    # -- plain numbers and power ----------------------------------------------------------------------------

    def _plain(self, slot: int, quantity: Q, label: str) -> PlainFace:
        read = self._latest(slot, quantity)
        if read is None or self.is_old(read):
            return PlainFace(label, LOST, CATALOGUE[quantity].unit)
        out = self._out.get((slot, quantity))
        return PlainFace(label, words.reading(quantity, read.value), CATALOGUE[quantity].unit, out, read.unsure)

    def _plain_of_two(self) -> tuple[PlainFace, ...]:
        sides = {slot: side_of(run) for slot, run in self._frame.runs.items()}
        label = {slot: content.label_of(Q.PUMP_SPEED, run) for slot, run in self._frame.runs.items()}
        speeds = tuple(self._plain(slot, Q.PUMP_SPEED, f"{label[slot]} {side}") for slot, side in sides.items())
        flows = {side: self._latest(slot, Q.PUMP_FLOW) for slot, side in sides.items()}
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
