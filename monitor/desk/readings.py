"""The newest readings and the series behind the small trends, per bed, run and quantity."""

from collections.abc import Iterable, Mapping
from types import MappingProxyType
from typing import NamedTuple

from monitor.analysis.arrow import Arrow
from monitor.core.point_marks import BY_HAND, MEASURED, UNSURE, Marks, PointMark
from monitor.core.wire import Column, LatestReadings, ReadingsAnew, ReadingsDelta
from monitor.desk.arrows import arrow_in
from monitor.desk.derived import PARTS, derive
from monitor.desk.series import COLUMNS, HAND_WINDOW_MS, LIVE_WINDOW_MS, Series, SeriesWindow
from shared.instant import Instant, ms
from shared.quantities import Quantity


class Latest(NamedTuple):
    """The newest reading of a quantity, and how it came in."""

    value: float
    read_at: Instant
    marks: Marks = MEASURED

    @property
    def estimated(self) -> bool:
        """Tell whether the console computed it."""
        return bool(self.marks) and PointMark.ESTIMATED in self.marks

    @property
    def unsure(self) -> Marks:
        """Give the marks for which a number is not taken as plainly true."""
        return self.marks & UNSURE if self.marks else MEASURED


Key = tuple[str, int]
_NOTHING: Mapping[Quantity, Latest] = MappingProxyType({})


class Readings:
    """Everything numeric that a tile shows. A bed's window is 2 h, or 12 h where sets are entered by hand."""

    def __init__(self) -> None:
        self._latest: dict[Key, dict[Quantity, Latest]] = {}
        self._series: dict[tuple[str, int, Quantity], Series] = {}
        self._paces: dict[str, tuple[int, int]] = {}
        self._by_hand: set[str] = set()
        self._past: set[Key] = set()
        self._arrows: dict[tuple[str, int, Quantity], tuple[tuple[int, int], Arrow]] = {}

    def set_pace(self, bed: str, by_hand: bool, interval_s: float) -> bool:
        """Say how a bed is read; a change begins its series anew. ``True``: their past is to be asked for again.

        A column is never narrower than one and a half intervals: else every second one would look like a gap.
        """
        (self._by_hand.add if by_hand else self._by_hand.discard)(bed)
        window = HAND_WINDOW_MS if by_hand else LIVE_WINDOW_MS
        width = window // COLUMNS if by_hand else max(window // COLUMNS, ms(1.5 * interval_s))
        if self._pace(bed) == (window, width):
            return False
        self._paces[bed] = (window, width)
        self.forget_series(bed)
        return True

    def window_ms(self, bed: str) -> int:
        """Give the length of the bed's trends."""
        return self._pace(bed)[0]

    def width_ms(self, bed: str) -> int:
        """Give the width of one column of the bed's trends."""
        return self._pace(bed)[1]

    def has_past(self, bed: str, slot: int) -> bool:
        """Tell whether the hub's history is in the trends, so that an empty column is a true gap."""
        return (bed, slot) in self._past

    def begin(self, readings: Iterable[LatestReadings]) -> None:
        """Start from a snapshot: what stood before is forgotten, series are kept; history brings what is drawn."""
        self._latest.clear()
        self._past.clear()
        for part in readings:
            self._put(part)

    def renew(self, anew: ReadingsAnew) -> None:
        """A set was corrected or struck: what stands is told anew, and the trends are to be asked for again."""
        self.forget(anew.bed, anew.slot)
        self._put(anew)

    def take(self, delta: ReadingsDelta) -> None:
        """Take new readings; a late one goes into the trend and never over a newer number."""
        latest = self._latest.setdefault((delta.bed, delta.slot), {})
        worked = derive(delta.read_at, delta.values, _stood(latest))
        usual, marked = self._usual_marks(delta.bed), bool(delta.marks or delta.estimated)
        for quantity, value in delta.values.items():
            marks = usual | delta.marks_of(quantity) if marked else usual
            self._add(delta, latest, quantity, value, marks)
        for quantity, value in worked.items():
            parts = {
                part: delta.marks_of(part) if part in delta.values else latest[part].marks
                for part in PARTS
                if part in delta.values or part in latest
            }
            self._add(delta, latest, quantity, value, usual | delta.marks_of(quantity) | _of_parts(parts))

    def _add(
        self, delta: ReadingsDelta, latest: dict[Quantity, Latest], quantity: Quantity, value: float, marks: Marks
    ) -> None:
        key, read_at = (delta.bed, delta.slot, quantity), delta.read_at
        series = self._series.get(key)
        (series if series is not None else self._of(*key)).add(read_at, value, marks)
        known = latest.get(quantity)
        if known is None or read_at > known.read_at:  # of two read in one moment the first stands, as in the hub
            latest[quantity] = Latest(value, read_at, marks)

    def merge(self, bed: str, slot: int, width_ms: int, series: Mapping[Quantity, tuple[Column, ...]]) -> None:
        """Take history; columns of another width than the bed's own are left alone."""
        if width_ms != self.width_ms(bed):
            return
        self._past.add((bed, slot))
        self._forget_arrows(bed)
        for quantity, columns in series.items():
            self._of(bed, slot, quantity).merge(columns, self._usual_marks(bed))

    def latest(self, bed: str, slot: int, quantity: Quantity) -> Latest | None:
        """Give the newest reading, or ``None`` when there never was one."""
        return self._latest.get((bed, slot), {}).get(quantity)

    def stands(self, bed: str, slot: int) -> Mapping[Quantity, Latest]:
        """Give the newest readings of a run: what stands now, and what comes later into it too."""
        return self._latest.get((bed, slot), _NOTHING)

    def window(self, bed: str, slot: int, quantity: Quantity, now: Instant) -> SeriesWindow:
        """Give the columns of the window that ends now."""
        return self._of(bed, slot, quantity).window(now)

    def arrow(self, bed: str, slot: int, quantity: Quantity, now: Instant) -> Arrow:
        """Give the arrow beside the number: worked out anew with each column, and when older ones have changed."""
        key, series = (bed, slot, quantity), self._of(bed, slot, quantity)
        made_of = (now // series.width_ms, series.late)
        kept = self._arrows.get(key)
        if kept is None or kept[0] != made_of:
            kept = self._arrows[key] = (made_of, arrow_in(series.window(now), quantity))
        return kept[1]

    def newest(self, bed: str, slot: int, quantity: Quantity) -> tuple[int, float, float]:
        """Give what tells whether a trend must be painted again within a column: see `Series.newest`."""
        return self._of(bed, slot, quantity).newest()

    def forget_series(self, bed: str) -> None:
        """Drop the trends of a bed: another run, or another width."""
        for key in [key for key in self._series if key[0] == bed]:
            del self._series[key]
        self._past = {key for key in self._past if key[0] != bed}
        self._forget_arrows(bed)

    def forget(self, bed: str, slot: int) -> None:
        """Drop everything of a run: what came before belongs to somebody else."""
        self._latest.pop((bed, slot), None)
        self._past.discard((bed, slot))
        for key in [key for key in self._series if key[:2] == (bed, slot)]:
            del self._series[key]
        self._forget_arrows(bed)

    def _put(self, part: LatestReadings) -> None:
        self._latest[part.bed, part.slot] = {
            quantity: Latest(value, at, _marks_in(part, quantity)) for quantity, (at, value) in part.values.items()
        }
        self._complete(part.bed, part.slot)

    def _usual_marks(self, bed: str) -> Marks:
        """Give the marks of every reading of a bed: where no feed reads, a person does."""
        return BY_HAND if bed in self._by_hand else MEASURED

    def _forget_arrows(self, bed: str) -> None:
        for key in [key for key in self._arrows if key[0] == bed]:
            del self._arrows[key]

    def _of(self, bed: str, slot: int, quantity: Quantity) -> Series:
        key = (bed, slot, quantity)
        if key not in self._series:
            window, width = self._pace(bed)
            self._series[key] = Series(width, max(1, window // width))
        return self._series[key]

    def _pace(self, bed: str) -> tuple[int, int]:
        return self._paces.get(bed, (LIVE_WINDOW_MS, LIVE_WINDOW_MS // COLUMNS))

    def _complete(self, bed: str, slot: int) -> None:
        latest = self._latest[bed, slot]
        stood = _stood(latest)
        for at in {one.read_at for one in latest.values()}:
            values = {quantity: one.value for quantity, one in latest.items() if one.read_at == at}
            for quantity, value in derive(at, values, stood).items():
                latest[quantity] = Latest(value, at, _of_parts({one: latest[one].marks for one in PARTS}))


def _stood(latest: Mapping[Quantity, Latest]) -> dict[Quantity, tuple[Instant, float]]:
    """Give the newest of what another quantity follows from."""
    return {part: (one.read_at, one.value) for part in PARTS if (one := latest.get(part)) is not None}


def _marks_in(part: LatestReadings, quantity: Quantity) -> Marks:
    told = (
        (PointMark.ESTIMATED, part.estimated),
        (PointMark.DOUBTFUL, part.doubtful),
        (PointMark.UNCHECKED, part.unchecked),
    )
    return frozenset(mark for mark, quantities in told if quantity in quantities)


def _of_parts(parts: Mapping[Quantity, Marks]) -> Marks:
    """Give the marks of what follows from some readings: in doubt with any of them."""
    return frozenset[PointMark]().union(*parts.values()) & UNSURE
