"""Limits that a bedside nurse proposes: never in force before they are accepted, nor beyond the shift."""

import pytest

from monitor.core.bed_commands import AnswerProposal, ProposeLimit, SetLimit
from monitor.core.entries import EntryKind
from monitor.core.entry_words import words_of
from monitor.core.unit import Shift
from monitor.core.view import DueKind, LimitView
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

NURSE = "nurse-B1"
HIGH = "inlet_very_low"


def propose(bed: Bed, rule: str = "inlet_low", value: float = -120.0, who: str = NURSE, **more: object) -> str:
    fields = {"bed": "B1", "rule": rule, "value": value, "until": bed.now + 3 * HOUR, "reason": "lies on the side"}
    return bed.say(ProposeLimit, who, **(fields | more))


def answer(bed: Bed, accept: bool, who: str = "charge", rule: str = "inlet_low", **more: object) -> str:
    seen = limit(bed, rule).proposed
    fields = {"bed": "B1", "rule": rule, "accept": accept, "value": -120.0, "until": bed.now}
    if seen is not None:
        fields |= {"value": seen.value, "until": seen.until}
    return bed.say(AnswerProposal, who, **(fields | more))


def limit(bed: Bed, rule: str = "inlet_low") -> LimitView:
    return next(one for one in bed.tile.runs[0].settable if one.rule == rule)


def said(bed: Bed) -> list[str]:
    kinds = (EntryKind.LIMIT_PROPOSED, EntryKind.PROPOSAL_ENDED, EntryKind.LIMIT_SET)
    return [words_of(entry, lambda name: name or "") for entry in bed.of(*kinds)]


@pytest.fixture
def bed() -> Bed:
    bed = Bed(("B1", "B2"))
    bed.run(90)
    return bed


def test_that_a_proposal_stands_everywhere_and_is_not_in_force(bed: Bed) -> None:
    assert propose(bed) == ""
    proposed = limit(bed).proposed
    assert proposed is not None
    assert (proposed.value, proposed.by, proposed.reason, proposed.ends) == (
        -120.0, NURSE, "lies on the side", bed.now + 3 * HOUR,
    )  # fmt: skip
    assert limit(bed).own is None
    due = [one for one in bed.engine.unit(bed.now).due if one.kind is DueKind.PROPOSAL]
    assert [(one.bed, one.words, one.at) for one in due] == [
        ("B1", f"Limit proposed by {NURSE}: Drain P below −120 mmHg", bed.now)
    ]
    assert said(bed) == [f"Proposed, not in force: Drain P below −120 mmHg: lies on the side, by {NURSE}"]
    bed.run(60, {Q.INLET_PRESSURE: -110.0, Q.PUMP_FLOW: 3.9})
    assert "inlet_low" in [rule for _, rule in bed.raised()], "the default speaks"


def test_that_an_accepted_one_is_set_in_the_name_of_who_accepted(bed: Bed) -> None:
    propose(bed)
    bed.restart()
    assert answer(bed, accept=True) == ""
    own = limit(bed).own
    assert own is not None
    assert (own.value, own.by, own.reason) == (-120.0, "charge", "lies on the side")
    assert limit(bed).proposed is None
    assert said(bed)[1:] == [
        "Own limit: Drain P below −120 mm[Hg]: lies on the side".replace("mm[Hg]", "mmHg"),
        f"Proposal of {NURSE} accepted: Drain P below −120 mmHg, by charge",
    ]
    assert answer(bed, accept=True) == "no limit of Drain P low is proposed for B1"


def test_that_a_high_one_needs_its_two_people_and_stays_until_it_has_them(bed: Bed) -> None:
    assert propose(bed, HIGH, -160.0) == ""
    for second in (None, "charge", NURSE):
        assert "two people" in answer(bed, accept=True, rule=HIGH, second=second)
    assert limit(bed, HIGH).own is None
    assert limit(bed, HIGH).proposed is not None
    assert answer(bed, accept=True, rule=HIGH, second="perfusionist") == ""
    own = limit(bed, HIGH).own
    assert own is not None
    assert (own.by, own.second) == ("charge", "perfusionist")


def test_that_it_is_refused_or_taken_back_and_nobody_else_answers_it(bed: Bed) -> None:
    propose(bed)
    assert answer(bed, accept=True, who=NURSE).endswith(" can")
    assert answer(bed, accept=False, who="nurse-B2").endswith(" can")
    assert answer(bed, accept=False, reason="turn the patient") == ""
    propose(bed, value=-130.0)
    assert answer(bed, accept=False, who=NURSE) == ""
    assert limit(bed).own is None
    assert said(bed)[1::2] == [
        f"Proposal of {NURSE} refused: Drain P below −120 mmHg: turn the patient, by charge",
        f"Proposal taken back: Drain P below −130 mmHg, by {NURSE}",
    ]
    assert answer(bed, accept=False, who=NURSE).endswith(" can")
    assert bed.say(AnswerProposal, NURSE, bed="B9", rule="no_rule", accept=False, value=1.0, until=1).endswith(
        " can"
    )
    assert bed.say(
        AnswerProposal, NURSE, bed="B1", slot=2, rule="no_rule", accept=False, value=1.0, until=1
    ).endswith(" can")


def test_that_only_what_was_seen_is_answered_and_only_what_could_be_set_is_proposed(bed: Bed) -> None:
    propose(bed)
    propose(bed, value=-130.0, reason="")
    assert answer(bed, accept=True, value=-120.0) == "another limit is proposed since: look again"
    assert limit(bed).proposed is not None
    assert "not possible" in propose(bed, value=-9000.0)
    assert "ends within" in propose(bed, until=bed.now)
    assert "no limit that can be set" in propose(bed, rule="no_feed")
    assert "no run is open" in propose(bed, who="charge", slot=2)
    assert "at their own bed" in propose(bed, who="nurse-B2")
    assert bed.say(SetLimit, NURSE, bed="B1", rule="inlet_low", value=-120.0, until=bed.now + HOUR).endswith(" can")


def test_that_it_lapses_with_the_shift_or_with_its_own_end() -> None:
    plain = Bed()
    plain.run(5)
    assert propose(plain, until=plain.now + 23 * HOUR) == ""
    ends = limit(plain).proposed
    assert ends is not None
    assert ends.ends == plain.now + 12 * HOUR, "where no shift is planned"
    shift = Shift(name="Night", begins="19:00", ends="00:30")
    unit = plain.configuration.unit.model_copy(update={"shifts": (shift,)})
    bed = Bed(changed={"unit": unit})
    bed.run(5)
    propose(bed)
    proposed = limit(bed).proposed
    assert proposed is not None
    bed.wait((proposed.ends - bed.now) / 1000 - 1)
    assert limit(bed).proposed is not None
    bed.wait(1)
    assert limit(bed).proposed is None
    assert bed.since(proposed.ends) == 30 * 60
    assert said(bed)[-1] == f"Proposal of {NURSE} lapsed without an answer: Drain P below −120 mmHg"
    assert propose(bed, until=bed.now + 10 * MINUTE) == ""
    bed.wait(10 * 60)
    assert limit(bed).proposed is None
    assert bed.of(EntryKind.LIMIT_SET) == []
