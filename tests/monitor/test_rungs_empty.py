"""A rung without anybody speaks after five minutes (`config/limits.toml`, our defaults, no source)."""

from monitor.core.commands import ChangeRoster
from monitor.core.entries import EntryKind
from monitor.core.grades import Rung
from monitor.rehearsal.rehearse import BEGIN
from shared.instant import SECOND
from tests.helpers.one_bed import Bed
from tests.helpers.read_beds import Beds

K = EntryKind
A_MOMENT = 0.001


def empty(bed: Bed, *rungs: Rung, stands: str | None = None) -> None:
    for rung in rungs:
        assert bed.say(ChangeRoster, "charge", rung=rung, bed=None, stands=stands) == ""


def test_that_a_perfusionist_or_intensivist_who_is_missing_for_five_minutes_is_told_of_and_no_other_rung() -> None:
    bed = Beds()
    bed.wait(1)
    since = bed.now
    empty(bed, Rung.PERFUSIONIST, Rung.INTENSIVIST, Rung.SURGEON)
    for _ in range(4):
        bed.wait(75 - A_MOMENT)
        bed.read("B1")
    assert bed.told(K.RAISED) == []
    bed.wait(1)
    raised = [(e.at - since, e.rule, e.text) for e in bed.of(K.RAISED)]
    assert raised == [
        (300 * SECOND, "uncovered", "Perfusionist: nobody"), (300 * SECOND, "uncovered", "Intensivist: nobody"),
    ]  # fmt: skip
    bed.read("B1")
    bed.wait(60)
    assert len(bed.of(K.RAISED)) == 2


def test_that_of_two_rungs_that_fell_empty_at_one_moment_the_lower_is_told_first() -> None:
    bed = Beds()
    bed.wait(1)
    empty(bed, Rung.INTENSIVIST, Rung.PERFUSIONIST)
    bed.wait(300)
    assert [e.text for e in bed.of(K.RAISED) if e.rule == "uncovered"] == [
        "Perfusionist: nobody",
        "Intensivist: nobody",
    ]


def test_that_a_rung_that_is_filled_again_ends_its_own_alert_alone_and_may_be_empty_again() -> None:
    bed = Beds()
    empty(bed, Rung.PERFUSIONIST, Rung.INTENSIVIST)
    for _ in range(4):
        bed.wait(76)
        bed.read("B1")
    first, second = bed.of(K.RAISED)
    empty(bed, Rung.INTENSIVIST, stands="intensivist")
    assert [entry.alert for entry in bed.of(K.LATCHED, K.CLEARED)] == [second.alert]
    empty(bed, Rung.INTENSIVIST)
    for _ in range(4):
        bed.wait(76)
        bed.read("B1")
    assert [entry.text for entry in bed.of(K.RAISED)][2:] == ["Intensivist: nobody"]
    empty(bed, Rung.PERFUSIONIST, stands="perfusionist")
    assert first.alert in [entry.alert for entry in bed.of(K.LATCHED, K.CLEARED)]


def test_that_an_empty_rung_comes_back_to_its_own_episode_and_to_none_of_another_rung() -> None:
    bed = Beds()
    empty(bed, Rung.PERFUSIONIST)
    bed.wait(60)
    empty(bed, Rung.INTENSIVIST)
    for _ in range(3):
        bed.wait(80)
        bed.read("B1")
    empty(bed, Rung.PERFUSIONIST, stands="perfusionist")
    bed.wait(61)
    perfusionist, intensivist = (entry for entry in bed.of(K.RAISED) if entry.rule == "uncovered")
    assert (perfusionist.at, intensivist.at) == (BEGIN + 300 * SECOND, BEGIN + 360 * SECOND)
    assert perfusionist.episode != intensivist.episode
