"""A review's trends have what its line leaves out: short extremes, what a feed sent later, sets entered late."""

from typing import Any

import numpy as np

from monitor.core.lean import LEAN_REPLIES, history_of, lean_of
from monitor.core.point_marks import BY_HAND, PointMark
from monitor.core.wire import AskHistory, Column, History, ReadingsDelta, Snapshot, TileDelta
from monitor.desk.hearing import Heard
from monitor.desk.history_queue import AGAIN_S, AT_ONCE, GIVE_UP_S, WHOLE_EVERY
from monitor.desk.link_state import LinkState
from monitor.desk.session import Session
from shared.frames import decode, encode
from shared.instant import MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.views import NOW, filled, latest, tile, unit

#: Of the 2 kB a second that a review of twelve beds may take.
AGAIN_BYTES_S = 200
BEDS = tuple(f"B{n}" for n in range(1, 13))


class Line:
    """A session of twelve beds whose hub answers at once, out of a record that the test writes."""

    def __init__(self, *, lean: bool = True) -> None:
        self.asked: list[AskHistory] = []
        self.record: dict[tuple[str, Q], tuple[Column, ...]] = {}
        self.store = filled([tile(bed) for bed in BEDS], trends=False)
        self.session = Session(self.store, self._hear, lean=lean)
        self.seconds = 0.0
        self.bytes: list[int] = []
        self._answers: list[Heard] = []
        self.is_busy = False

    def _hear(self, request: Any) -> None:
        assert isinstance(request, AskHistory)
        self.asked.append(request)
        if self.is_busy:
            return
        series = {q: self.record.get((request.bed, q), ()) for q in request.quantities}
        told = {
            q: tuple(c for c in columns if request.begin <= c.at <= request.end) for q, columns in series.items()
        }
        said = History(request=request.request, bed=request.bed, slot=1, width_ms=request.width_ms, series=told)
        packed = encode("hub", lean_of(said), packed=True)
        self.bytes.append(sum(map(len, packed)))
        _, lean = decode(packed, LEAN_REPLIES, packed=True)
        self._answers.append(Heard(self.seconds, history_of(lean)))  # type: ignore[arg-type]

    def until(self, seconds: float) -> None:
        while self.seconds < seconds:
            self.seconds += 1.0
            self.store.link.hear(self.seconds)
            self.session.tick(self.seconds)
            answers, self._answers = self._answers, []
            self.session.take(answers, self.seconds)

    def lowest(self, bed: str) -> float:
        window = self.store.readings.window(bed, 1, Q.PUMP_FLOW, NOW)
        return float(np.nanmin(window.low))


def dip(at: int) -> tuple[Column, ...]:
    width = 30 * SECOND
    return (Column(at=at // width * width, low=1.1, high=4.3, last=4.2),)


def test_that_an_extreme_between_two_readings_that_are_told_stands_in_the_trend_within_a_round() -> None:
    line = Line()
    for bed in BEDS:
        line.store.readings.take(
            ReadingsDelta(boot="b", seq=2, bed=bed, slot=1, read_at=NOW, values={Q.PUMP_FLOW: 4.2})
        )
        line.record[bed, Q.PUMP_FLOW] = dip(NOW - 20 * SECOND)
    line.until(len(BEDS) * AGAIN_S + 1)
    assert {line.lowest(bed) for bed in BEDS} == {1.1}
    assert len(line.asked) == len(BEDS), "one request each 5 s"
    whole = [one for one in line.asked if one.end - one.begin > 100 * MINUTE]
    assert len(whole) == 1, "one run's whole trend in a round of twelve"
    assert all(one.end - one.begin <= 2 * MINUTE for one in line.asked if one not in whole)


def test_that_what_a_feed_sent_later_is_there_once_every_run_was_asked_for_whole() -> None:
    line = Line()
    late = NOW - 90 * MINUTE
    for bed in BEDS:
        line.record[bed, Q.PUMP_FLOW] = dip(late)
    line.until(len(BEDS) * AGAIN_S * WHOLE_EVERY + 1)
    assert {one.bed for one in line.asked if one.end - one.begin > 100 * MINUTE} == set(BEDS)
    assert {line.lowest(bed) for bed in BEDS} == {1.1}


def test_that_a_desk_at_the_station_asks_once_and_a_silent_line_is_not_asked() -> None:
    station = Line(lean=False)
    station.until(60)
    assert station.asked == []
    line = Line()
    line.store.link.state = LinkState.LATE
    line.session.tick(20.0)
    assert line.asked == []


def test_that_a_past_that_a_busy_hub_did_not_answer_for_is_asked_for_until_it_is_there() -> None:
    """Else the hours before stand there hatched, as if nobody had read."""
    line = Line(lean=False)
    for bed in BEDS:
        line.record[bed, Q.PUMP_FLOW] = dip(NOW - 90 * MINUTE)
    line.is_busy = True
    tiles, told = tuple(line.store.tiles.values()), [latest(bed) for bed in BEDS]
    said = Snapshot(request="r", seq=1, boot="b", hub_time=NOW, unit=unit(BEDS), tiles=tiles, readings=tuple(told))
    line.session.take([Heard(0.0, said)], 0.0)
    line.until(3 * GIVE_UP_S - 1)
    assert len(line.asked) == 3 * AT_ONCE
    assert len({one.bed for one in line.asked}) == 3 * AT_ONCE, "one after the other, none holds up the rest"
    line.is_busy = False
    line.until(4 * GIVE_UP_S + 2 * len(BEDS))
    assert {line.lowest(bed) for bed in BEDS} == {1.1}
    asked = len(line.asked)
    line.until(line.seconds + 60)
    assert len(line.asked) == asked


def test_that_a_bed_that_is_read_at_another_pace_has_its_past_asked_for_in_the_new_columns() -> None:
    line = Line(lean=False)
    slower = tile("B3").model_copy(update={"interval_s": 60.0})
    line.session.take([Heard(0.0, TileDelta(boot="b", seq=9, tile=slower))], 0.0)
    line.until(30)
    assert {one.width_ms for one in line.asked if one.bed == "B3"} == {90 * SECOND}


def test_that_asking_again_takes_little_of_the_line() -> None:
    """Twelve noisy beds for a round; answers and, by their size as they go out, requests."""
    line, dice = Line(), np.random.default_rng(5)
    fitted = tuple(tile().runs[0].description.sensors)
    for bed in BEDS:
        for quantity in fitted:
            values = 4 + dice.normal(0, 0.05, 240)
            line.record[bed, quantity] = tuple(
                Column(at=NOW - n * 30 * SECOND, low=v - 0.2, high=v + 0.2, last=v)
                for n, v in zip(range(240, 0, -1), values.tolist(), strict=True)
            )
    line.until(len(BEDS) * AGAIN_S + 1)
    said = sum(sum(map(len, encode("desk", one, packed=True))) for one in line.asked)
    assert (sum(line.bytes) + said) / line.seconds <= AGAIN_BYTES_S


def test_that_a_set_entered_late_is_a_hollow_dot_in_a_review_as_at_a_desk() -> None:
    for lean in (False, True):
        line = Line(lean=lean)
        marks = BY_HAND | {PointMark.LATE}
        at = NOW - 40 * MINUTE
        said = ReadingsDelta(
            boot="b", seq=3, bed="B1", slot=1, read_at=at, values={Q.PUMP_FLOW: 2.4}, marks={Q.PUMP_FLOW: marks},
            by_hand=True, late=True,
        )  # fmt: skip
        line.session.take([Heard(1.0, said)], 1.0)
        (dot,) = line.store.readings.window("B1", 1, Q.PUMP_FLOW, NOW).dots
        assert (dot.at, dot.value, dot.marks) == (at, 2.4, marks)
        before = line.store.readings.latest("B1", 1, Q.PUMP_FLOW)
        assert before is not None
        assert before.read_at > at, "and no number of now"
