"""What is new at a bed to whoever looked there, and how far it has moved; who may enter readings there."""

import pytest

from monitor.core.bed_commands import LookedAt
from monitor.core.entries import Entry, EntryKind
from monitor.core.meaning.looked_view import LookedView, ShiftView
from monitor.core.meaning.news import TOLD_AT_MOST, looked_at, news_of
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed


def entry(at: int, kind: EntryKind = EntryKind.ORDER) -> Entry:
    return Entry(at=at, kind=kind, bed="B1")


def test_that_news_are_what_was_done_since_the_last_look_at_any_run_of_the_bed() -> None:
    looked = {1: LookedView(person="perf", at=50), 2: LookedView(person="perf", at=70)}
    done = [entry(90), entry(80, EntryKind.CALLED), entry(71), entry(70), entry(60)]
    assert looked_at(looked) == 70
    news = news_of("B1", looked, done)
    assert ([one.at for one in news.entries], news.more, news.looked) == ([90, 71], 0, looked)


def test_that_who_never_looked_is_told_no_news_and_a_long_list_says_how_many_more() -> None:
    never = {1: LookedView(person="perf")}
    assert looked_at(never) is None
    assert news_of("B1", never, [entry(90)]).entries == ()
    many = [entry(1000 - place) for place in range(TOLD_AT_MOST + 3)]
    news = news_of("B1", {1: LookedView(person="perf", at=0)}, many)
    assert ([one.at for one in news.entries], news.more) == ([1000 - n for n in range(TOLD_AT_MOST)], 3)


@pytest.mark.parametrize(("noise", "size"), [(0.5, 3.0), (None, 0.0)])
def test_that_a_shift_is_measured_in_units_of_its_own_noise(noise: float | None, size: float) -> None:
    assert ShiftView(quantity=Q.PUMP_FLOW, before=4.5, now=3.0, noise=noise).size == size


def test_that_a_look_is_told_of_each_run_of_the_bed_and_of_nobody_elses() -> None:
    bed = Bed()
    bed.run(60)
    assert bed.say(LookedAt, "perfusionist", bed="B1") == ""
    at = bed.now
    bed.run(60)
    assert bed.engine.looked("B1", "perfusionist", bed.now)[1].at == at
    assert bed.engine.looked("B1", "charge", bed.now)[1].at is None


def test_that_the_nurse_of_a_bed_and_who_may_enter_there_are_named() -> None:
    bed = Bed(beds=("B1", "B2"))
    nurse, may = bed.engine.entering("B1")
    assert nurse == "nurse-B1"
    assert {"nurse-B1", "charge", "perfusionist"} <= set(may)
    assert not {"nurse-B2", "intensivist", "surgeon"} & set(may)


def test_that_what_nobody_checked_is_named_as_long_as_it_is_the_newest() -> None:
    bed = Bed()
    assert bed.engine.unchecked("B9", 1) == frozenset()
    bed.enter_set(USUAL, "nurse-B1")
    assert bed.engine.unchecked("B1", 1) == frozenset()
