"""Sets of whom it was not checked, or who may not: what the engine finds of them, and what follows at the bed."""

from typing import Any

import pytest

from monitor.core.commands import Reason, Take, Where
from monitor.core.entries import EntryKind
from shared.instant import SECOND
from shared.messages import Edition, Observation, Unchecked, Why
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import USUAL, Bed
from tests.monitor.test_set_editions import Hand, again, first, set_id, struck

LOW_MAP = USUAL | {Q.MEAN_ARTERIAL_PRESSURE: 45.0}
OTHER: dict[str, Any] = {"unchecked": Unchecked.OTHER_BED}


def of_set(bed: Bed, by: str | None, edition: Edition | None = None, **more: Any) -> Observation:
    """A set at the first bed, read and entered now."""
    fields: dict[str, Any] = {"feed": "f", "epoch": "0" * 16, "seq": 9, "bed": "B1", "read_at": bed.now}
    fields |= {"sent_at": bed.now, "readings": {} if edition and edition.struck else USUAL, "edition": edition}
    fields |= {} if by is None else {"by": by, "entered_at": bed.now}
    return Observation(**fields | more)


def alone(number: int, second: str | None = None) -> Edition:
    return Edition(set=set_id(number), version=2, why=Why.WRONG_BED, struck=True, second=second)


@pytest.mark.parametrize(
    ("by", "edition", "found"),
    [
        (None, None, None),
        ("nurse-B1", None, None),
        ("charge", None, None),
        ("nobody-9", None, Unchecked.NO_PERSON),
        ("intensivist", None, Unchecked.ROLE),
        ("nurse-B2", None, Unchecked.OTHER_BED),
        ("charge", alone(1), Unchecked.ALONE),
        ("charge", alone(1, "charge"), Unchecked.ALONE),
        ("charge", alone(1, "nurse-B1"), None),
        ("charge", alone(1, "nobody-9"), Unchecked.NO_PERSON),
        ("nurse-B1", alone(1), None),
        ("nurse-B1", alone(7), Unchecked.ALONE),
        ("nurse-B2", alone(1), Unchecked.OTHER_BED),
    ],
)
def test_that_a_set_is_held_to_who_may_enter_it(
    by: str | None, edition: Edition | None, found: Unchecked | None
) -> None:
    bed = Bed(beds=("B1", "B2"), more='[[start]]\nbed = "B1"\nfeed = "entered"\n')
    bed.enter_set(USUAL, "nurse-B1", 0, first(1))
    said = of_set(bed, by, edition)
    held = bed.engine.held_to_roles(said)
    assert held.unchecked is found
    assert held.model_copy(update={"unchecked": None}) == said
    elsewhere = said.model_copy(update={"bed": "B9"})
    assert bed.engine.held_to_roles(elsewhere) is elsewhere, "no bed of the unit: the door turns it away"


def test_that_a_sender_can_say_alone_that_nobody_was_asked() -> None:
    bed = Bed()
    for said, found in ((Unchecked.ROLE, Unchecked.NOT_ASKED), (Unchecked.NOT_ASKED, Unchecked.NOT_ASKED)):
        assert bed.engine.held_to_roles(of_set(bed, "nurse-B1", unchecked=said)).unchecked is found


def test_that_an_unchecked_set_is_told_once_a_person_and_a_bed_with_the_name_of_the_beds_nurse() -> None:
    bed = Hand()
    for number in (1, 2):
        bed.wait(60)
        bed.enter_set(USUAL, "nurse-9", 0, first(number), **OTHER)
    bed.enter_set(USUAL, "nobody-9", 0, first(3), unchecked=Unchecked.NO_PERSON)
    told = [(e.person, e.text) for e in bed.of(EntryKind.SET_UNCHECKED)]
    label = next(one.label for one in bed.configuration.unit.people if one.name == "nurse-B1")
    words = f"Set not checked: B1 is {label}'s bed"
    assert told[:2] == [("nurse-9", words), ("nurse-9", words)]
    assert told[2] == ("nobody-9", "Set not checked: who entered it is not among the unit's people")
    assert [one.person for one in bed.engine.unit(bed.now).beyond] == ["nurse-9", "nobody-9"]


def test_that_an_alert_begins_by_an_unchecked_set_and_ends_by_one_that_may_alone() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.wait(3000)
    bed.enter_set(LOW_MAP, "nurse-9", 0, first(2), **OTHER)
    assert not bed.lead.over  # a breach is one whoever typed it
    bed.wait(60)
    bed.enter_set(USUAL, "nurse-9", 0, first(3), **OTHER)
    assert not bed.lead.over
    bed.wait(60)
    bed.enter_set(USUAL, "nurse-B1", 0, first(4), unchecked=Unchecked.NOT_ASKED)
    assert bed.lead.over


def test_that_an_overdue_set_stays_overdue_until_somebody_enters_who_may() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.wait(2 * 3600)
    assert any(e.rule == "reading_overdue" for e in bed.of(EntryKind.RAISED))
    bed.enter_set(USUAL, "nurse-9", 0, first(2), **OTHER)
    assert not bed.of(EntryKind.CLEARED, EntryKind.LATCHED)
    bed.wait(60)
    bed.enter_set(USUAL, "nurse-B1", 0, first(3))
    assert bed.of(EntryKind.CLEARED, EntryKind.LATCHED)


def test_that_a_hold_is_not_renewed_for_an_unchecked_set() -> None:
    bed = Hand()
    bed.enter(1, 1, {Q.MEAN_ARTERIAL_PRESSURE: 45.0})
    assert bed.give(Take, "charge", where=Where.AT_BED, reason=Reason.OTHER) == ""
    episode = next(iter(bed.engine._state.beds[bed.label].episodes.values()))
    assert episode.holder is not None
    episode.holder.renewals = 2
    bed.wait(60)
    bed.enter_set(LOW_MAP, "nurse-9", 0, first(2), **OTHER)
    assert episode.holder.renewals == 2
    bed.enter_set(LOW_MAP, "nurse-B1", 0, first(3))
    assert episode.holder.renewals == 0


def test_that_the_engine_refuses_what_the_record_says_is_refused_and_a_checkpoint_keeps_the_mark() -> None:
    bed = Hand()
    bed.enter(1, 1)
    bed.wait(60)
    for edition in (again(1), struck(1)):
        bed.enter_at(bed.read[1], {} if edition.struck else LOW_MAP, "nurse-9", edition, **OTHER)
    assert bed.newest(Q.MEAN_ARTERIAL_PRESSURE) == (bed.read[1], 72.0)
    assert [e.person for e in bed.of(EntryKind.REFUSED)] == ["nurse-9", "nurse-9"]
    assert not bed.of(EntryKind.RAISED, EntryKind.SET_CORRECTED, EntryKind.SET_STRUCK)
    bed.enter_set({Q.PUMP_FLOW: 4.1}, "nurse-9", 0, first(2), **OTHER)
    bed.restart()
    assert bed.engine.unchecked(bed.label, 1) == {Q.PUMP_FLOW}
    bed.wait(60)
    bed.enter_at(bed.now - 60 * SECOND, {Q.PUMP_FLOW: 4.1}, "nurse-B1", again(2))
    assert bed.engine.unchecked(bed.label, 1) == frozenset()
