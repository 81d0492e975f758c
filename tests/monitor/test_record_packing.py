"""Observations as rows of the record: what goes in comes out, whatever people said beside the numbers."""

from hypothesis import given
from hypothesis import strategies as st

from monitor.record.packing import marks_of, pack, unpack
from shared.messages import Condition, Edition, Found, Looked, Observation, RoundKind, Why
from shared.quantities import Quantity as Q

EPOCH, SET = "00112233445566aa", "00112233445566bb"


LOOKED = st.builds(Looked, found=st.sampled_from(Found), note=st.none() | st.text(min_size=1, max_size=80))
EDITIONS = st.sampled_from(
    [
        Edition(set=SET),
        Edition(set=SET, moved_from=EPOCH),
        Edition(set=SET, version=3, why=Why.MISREAD),
        Edition(set=SET, version=2, why=Why.WRONG_BED, struck=True, second="nurse-6", moved_to="B2"),
    ]
)


@given(edition=st.none() | EDITIONS, looked=st.dictionaries(st.sampled_from(["clots", "limb"]), LOOKED))
def test_that_what_people_said_comes_back_from_a_row(edition: Edition | None, looked: dict[str, Looked]) -> None:
    struck = edition is not None and edition.struck
    said = Observation(
        feed="hand",
        epoch=EPOCH,
        seq=7,
        bed="B5",
        read_at=1,
        sent_at=3,
        readings={} if struck else {Q.PUMP_FLOW: 3.1},
        conditions=frozenset({Condition.HOT}),
        entered_at=3,
        by="nurse-5",
        edition=edition,
        round=RoundKind.HOURLY,
        looked=None if struck else looked or None,
    )
    names = ",".join(said.readings)
    assert unpack("hand", EPOCH, 7, "B5", 1, (1, 3), names, pack(said), marks_of(said)) == said


def test_that_nothing_is_said_of_readings_that_a_feed_took() -> None:
    said = Observation(feed="f", epoch=EPOCH, seq=1, bed="B1", read_at=1, sent_at=2, readings={Q.PUMP_FLOW: 4.2})
    assert marks_of(said) is None
