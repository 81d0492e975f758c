"""What is written and paged of a call: why somebody is called, whose hold ended, and that nobody is there.

The seconds are the project's own defaults (common practice, no source).
"""

from typing import Any

import pytest

from monitor.core.commands import ChangeRoster
from monitor.core.effects import Effect, Page
from monitor.core.entries import EntryKind as K
from monitor.core.grades import Priority, Rung
from monitor.core.pages.text import Why
from shared.instant import SECOND, Instant
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed
from tests.helpers.ward import BEGIN, Ward

NOBODY: dict[str, Any] = {
    "deputy": None, "charge": None, "perfusionist": None, "intensivist": None, "surgeon": None,
}  # fmt: skip


class Paged(Ward):
    """A ward that keeps the pages as well."""

    def __init__(self, **stands: Any) -> None:
        self.pages: list[Page] = []
        super().__init__(**stands)

    def paged(self, since: Instant = BEGIN) -> list[tuple[int, str, Why]]:
        """Seconds from the beginning, who is paged, and why."""
        found = [page for page in self.pages if page.facts.at >= since]
        return [((page.facts.at - BEGIN) // SECOND, page.person, page.facts.why) for page in found]

    def medium_taken(self) -> None:
        """A low flow of the first bed, taken by its nurse."""
        self.flow("B1", 3.3, 45)
        self.take("B1", "nurse-1", where="at_bed", reason="at_bedside")

    def _keep(self, effects: list[Effect]) -> None:
        super()._keep(effects)
        self.pages += [effect for effect in effects if isinstance(effect, Page)]


def test_that_a_page_goes_with_each_call_and_says_the_first_or_again() -> None:
    ward = Paged(nurses={"B1": "nurse-1"}, **NOBODY | {"charge": "charge-1"})
    ward.help("B1")
    ward.to(BEGIN + 180 * SECOND)
    assert [(at, who) for at, who, _ in ward.paged()] == ward.called("B1")
    assert [(who, why) for at, who, why in ward.paged() if at == 0][:2] == [
        ("nurse-1", Why.FIRST),
        ("charge-1", Why.FIRST),
    ]
    assert {why for at, _, why in ward.paged() if at > 0} == {Why.AGAIN}
    rungs = [(entry.rung, entry.person) for entry in ward.said(K.CALLED)]
    assert [(page.facts.rung, page.person) for page in ward.pages] == rungs


def test_that_a_hold_that_runs_out_names_who_had_it_sounds_and_pages_as_still_present() -> None:
    ward = Paged()
    ward.help("B1")
    taken = ward.take("B1", "int-1")
    ward.to(BEGIN + 180 * SECOND)
    (ended,) = ward.said(K.HOLD_ENDED)
    assert (ended.bed, ended.person, ended.episode, ended.text) == ("B1", "int-1", taken.id, "still present")
    assert ended.sounds
    assert ward.paged(BEGIN + SECOND) == [
        (180, who, Why.STILL) for who in ("nurse-1", "charge-1", "perf-1", "int-1")
    ]
    assert ward.episode("B1").holder is None
    assert ward.episode("B1").revision == taken.revision + 1
    refusal = ward.give("take", "nurse-1", bed="B1", alert=taken.lead, revision=taken.revision)
    assert refusal == "this has changed since you looked: look again"


def test_that_the_high_whose_own_hold_runs_out_makes_its_nurse_no_busy_one() -> None:
    """The deputy is called beside a nurse who holds another high, and not for this one."""
    ward = Paged()
    ward.help("B1")
    ward.take("B1", "nurse-1")
    ward.to(BEGIN + 180 * SECOND)
    again = ward.called("B1", since=BEGIN + SECOND)
    assert again == [(180, who) for who in ("nurse-1", "charge-1", "perf-1", "int-1")]


def test_that_a_full_step_worse_pages_as_worse() -> None:
    ward = Paged()
    ward.medium_taken()
    taken = ward.now
    ward.flow("B1", 2.7, 15)
    assert [(who, why) for _, who, why in ward.paged(taken)] == [("nurse-1", Why.WORSE)]


def test_that_a_holder_who_leaves_pages_as_still_present() -> None:
    ward = Paged(charge="charge-1")
    ward.medium_taken()
    taken = ward.now
    ward.does("roster", rung=1, bed="B1", stands="nurse-3")
    assert [(who, why) for _, who, why in ward.paged(taken)] == [("nurse-3", Why.STILL)]


def test_that_nobody_is_said_at_once_where_the_holder_was_the_last_who_stood() -> None:
    ward = Paged(nurses={"B1": "nurse-1", "B2": "nurse-2"}, **NOBODY)
    ward.medium_taken()
    ward.does("roster", rung=1, bed="B1", stands=None)
    (said,) = ward.said(K.NOBODY_THERE)
    assert (said.at, said.priority, said.sounds) == (ward.now, Priority.MEDIUM, True)


@pytest.mark.parametrize(("elsewhere", "loud"), [({}, Priority.HIGH), ({"B2": "nurse-2"}, Priority.MEDIUM)])
def test_that_a_medium_is_as_loud_as_there_is_where_nobody_stands_anywhere(
    elsewhere: dict[str, str], loud: Priority
) -> None:
    ward = Paged(nurses=elsewhere, **NOBODY)
    ward.flow("B1", 3.3, 45)
    (said,) = ward.said(K.NOBODY_THERE)
    assert (said.priority, said.text) == (loud, "nobody can be called: telephone")
    assert said.episode == ward.episode("B1").id
    assert ward.pages == []


def test_that_nobody_is_said_as_loud_as_the_gravest_that_is_present() -> None:
    """A medium that became a high and is still there, while a nurse stands at the other bed."""
    bed = Bed(("B1", "B2"))
    for rung in Rung:
        place = "B1" if rung is Rung.BEDSIDE else None
        assert bed.say(ChangeRoster, "charge", rung=rung, bed=place, stands=None) == ""
    bed.say(ChangeRoster, "charge", rung=Rung.BEDSIDE, bed=None, stands=None)
    bed.run(60, {Q.PUMP_FLOW: 3.3})
    bed.run(60, {Q.PUMP_FLOW: 2.2})
    said = [entry.priority for entry in bed.of(K.NOBODY_THERE)]
    assert (said[0], said[-1]) == (Priority.MEDIUM, Priority.HIGH)
    assert {alert.priority for alert in bed.lead.alerts} == {Priority.MEDIUM, Priority.HIGH}
