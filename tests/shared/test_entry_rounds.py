"""What was looked at, in a draft and in a set; rounds that are due; a correction together with what stays."""

from dataclasses import replace

import pytest

from shared.entry.answers import Answer, unanswered
from shared.entry.draft import Corrects, Draft, DraftState, Here, send, type_into
from shared.entry.draft import say_of as say
from shared.entry.due import due_fields, due_rounds
from shared.entry.findings import Reason
from shared.entry.judging import Situation, Standing, judge
from shared.entry.keeping import draft_from, draft_text, sent_from, sent_text
from shared.entry.known import Known
from shared.entry.versions import agree, ask_strike, begin, correct, known_after
from shared.instant import HOUR, MINUTE
from shared.messages import Found, Looked, RoundKind, Why
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.entry_bed import BASE, TABLE, bed, reasons

HERE = Here(TABLE, bed("B5", {}))
HOURLY, WALK, PERFUSION = RoundKind.HOURLY, RoundKind.SAFETY_WALK, RoundKind.PERFUSION
RIGHT, NOT_LOOKED = Looked(found=Found.IN_ORDER), Looked(found=Found.NOT_LOOKED)


def answered(*items: str, at: int = HOUR) -> Draft:
    draft = Draft(HERE.known.place, "nurse-5")
    for item in items:
        draft = say(draft, HERE, item, Answer(Found.IN_ORDER, at), at)
    return draft


def test_that_answers_alone_are_a_set_and_what_was_not_answered_was_not_looked_at() -> None:
    draft = answered("clots")
    assert draft.state is DraftState.READY
    _, sent = send(draft, HERE, HOUR + MINUTE)
    assert (sent.values, sent.round, sent.read_at) == ({}, HOURLY, HOUR)
    assert sent.looked["clots"] == RIGHT
    assert {one for item, one in sent.looked.items() if item != "clots"} == {NOT_LOOKED}
    items = TABLE.rounds.items_of(HOURLY, HERE.known.run)
    assert list(sent.looked) == [item.id for item in items if not item.optional]
    found = say(draft, HERE, "clotting_test", Answer(Found.FINDING, HOUR, "no clot"), HOUR)
    assert send(found, HERE, HOUR)[1].looked["clotting_test"].note == "no clot"
    left = [item.id for item in items if item.id != "clots" and not item.optional]
    assert [item.id for item in unanswered(items, draft.answers)] == left
    taken_back = say(draft, HERE, "clots", None, HOUR)
    assert (taken_back.state, taken_back.is_blank) == (DraftState.TYPING, True)
    with pytest.raises(ValueError, match="nothing was looked at"):
        send(taken_back, HERE, HOUR)
    foreign = answered("torch")  # of a safety walk, and this is no safety walk
    assert foreign.state is DraftState.TYPING


def test_that_numbers_alone_are_no_round() -> None:
    _, sent = send(type_into(answered(), HERE, Q.PUMP_FLOW, "4.2", HOUR), HERE, HOUR)
    assert (sent.round, sent.looked) == (None, {})


def test_that_an_answer_of_more_than_15_min_ago_holds_the_set_until_it_is_given_again() -> None:
    draft = answered("clots", "lines", "leaks", "limb", "pupils")
    send(draft, HERE, HOUR + 15 * MINUTE)
    late = HOUR + 15 * MINUTE + 1
    with pytest.raises(
        ValueError, match=r"look again and answer again .*: Lines.*; Clots.*; Leaks.* and 2 more\.$"
    ):
        send(draft, HERE, late)
    for items, told in ((("clots", "lines", "leaks"), "Leaks and connectors."), (("clots",), "connectors.")):
        with pytest.raises(ValueError, match=rf"{told}$"):
            send(answered(*items), HERE, late)
    with pytest.raises(ValueError, match=r" and 1 more\.$"):
        send(answered("clots", "lines", "leaks", "limb"), HERE, late)
    for item in draft.answers:
        draft = say(draft, HERE, item, Answer(Found.IN_ORDER, late), late)
    assert send(draft, HERE, late)[1].read_at == late


def test_that_drafts_and_sets_with_answers_are_kept_as_text() -> None:
    draft = say(answered("clots"), HERE, "lines", Answer(Found.FINDING, HOUR, "kink"), HOUR)
    assert draft_from(draft_text(draft)) == draft
    kept = begin(send(draft, HERE, HOUR)[1], "00000000000000ab")
    again = sent_from(sent_text(kept))
    assert again.newest.looked == kept.newest.looked
    assert again.newest.looked["lines"] == Looked(found=Found.FINDING, note="kink")
    assert again.newest.round is HOURLY


def test_that_a_draft_is_blank_until_something_is_said_or_the_time_of_a_correction() -> None:
    draft, corrects = answered(), Corrects("00000000000000ab", Why.WRONG_TIME)
    at = replace(draft, read_at=HOUR)
    assert [one.is_blank for one in (draft, at, answered("clots"))] == [True, True, False]
    assert not type_into(draft, HERE, Q.PUMP_FLOW, "4.2", HOUR).is_blank
    assert [replace(one, corrects=corrects).is_blank for one in (draft, at)] == [True, False]
    both = type_into(draft, HERE, Q.SYSTOLIC_PRESSURE, "89", HOUR)
    both = type_into(both, HERE, Q.DIASTOLIC_PRESSURE, "64", HOUR)
    assert send(both, HERE, HOUR)[1].values[Q.PULSE_PRESSURE] == 25


def test_that_a_correction_keeps_the_round_and_changes_what_was_looked_at_wrongly() -> None:
    kept = begin(send(answered("clots"), HERE, HOUR)[1], "00000000000000ab")
    with pytest.raises(ValueError, match="Nothing is changed"):
        correct(kept, {}, "nurse-5", HOUR, Why.MISREAD, looked=dict(kept.newest.looked))
    found = {**kept.newest.looked, "clots": Looked(found=Found.FINDING, note="connector")}
    mended = correct(kept, {}, "nurse-5", HOUR, Why.MISREAD, looked=found)
    assert (mended.newest.round, mended.newest.looked) == (HOURLY, found)
    assert known_after(HERE.known, [mended]).rounds == {HOURLY: HOUR}
    asked = ask_strike(mended, "nurse-5", HOUR, Why.WRONG_BED, bed("B6", {}).place)
    struck, moved = agree(asked, "charge-2", HOUR, TABLE.times)
    assert moved is not None
    assert (moved.round, moved.looked) == (HOURLY, found)
    assert known_after(HERE.known, [struck]).rounds == {}


def due(known: Known, now: int) -> dict[RoundKind, int | None]:
    return dict(due_rounds(TABLE, known, now))


def test_that_rounds_are_due_by_what_was_done_here_or_by_the_hubs_word() -> None:
    known = HERE.known
    assert due(known, 0) == {HOURLY: None, WALK: None, PERFUSION: None}
    known = known.with_round(HOURLY, HOUR).with_round(HOURLY, 0).with_round(WALK, HOUR).with_round(PERFUSION, HOUR)
    assert due(known, 2 * HOUR - 1) == {}
    assert due(known, 2 * HOUR) == {HOURLY: 0}
    assert due(known, 5 * HOUR + 7) == {HOURLY: 3 * HOUR + 7, PERFUSION: 7}
    told = Known("B5", known.run, due_at={HOURLY: HOUR, WALK: 3 * HOUR, PERFUSION: 9 * HOUR})
    assert due(told, 3 * HOUR) == {HOURLY: 2 * HOUR, WALK: 0}
    done = told.with_round(HOURLY, HOUR).with_round(WALK, 3 * HOUR)  # typed since: the hub's word is older
    assert due(done, 3 * HOUR) == {HOURLY: HOUR}
    nothing_due = TABLE.model_copy(update={"rounds": TABLE.rounds.model_copy(update={"due": NEVER})})
    assert due_rounds(nothing_due, HERE.known, 9 * HOUR) == ()


def test_that_one_kind_of_round_alone_can_be_due_and_a_number_by_when_it_was_read() -> None:
    perfusion = TABLE.rounds.model_copy(update={"due": type(TABLE.rounds.due)(perfusion_min=240)})
    alone = TABLE.model_copy(update={"rounds": perfusion})
    assert due_rounds(alone, HERE.known, HOUR) == ((PERFUSION, None),)
    read = bed("B5", read_at=HOUR)
    assert Q.PUMP_FLOW not in [one.field.quantity for one in due_fields(TABLE, read, 2 * HOUR - 1)]
    assert {one.field.quantity: one.since_ms for one in due_fields(TABLE, read, 2 * HOUR)}[Q.PUMP_FLOW] == 0


NEVER = type(TABLE.rounds.due)()


def test_that_items_stand_where_they_make_sense() -> None:
    ids = {kind: [one.id for one in TABLE.rounds.items_of(kind, bed(support=Support.VV).run)] for kind in RoundKind}
    assert "limb" not in ids[HOURLY]
    assert {"console_limits", "blood_colour"} <= set(ids[HOURLY])
    assert {"console_limits", "zeroed"} <= set(ids[PERFUSION])
    assert "console_limits" in ids[WALK]
    assert "blood_colour" not in [one.id for one in TABLE.rounds.items_of(HOURLY, bed(support=Support.LA_AO).run)]
    assert all(1 <= len(one.findings) <= 9 for one in TABLE.rounds.item)  # a finding asks which


def corrected(texts: dict[Q, str], stays: dict[Q, str] | None = None) -> set[Reason]:
    """Judge what is typed into a correction of the base set, as if it were the run's first."""
    values = {quantity: float(text) for quantity, text in (BASE if stays is None else stays).items()}
    return reasons(judge(Situation(TABLE, HERE.known, HOUR, stays=values), texts))


def test_that_a_correction_is_looked_at_together_with_the_numbers_that_stay() -> None:
    assert corrected({Q.PRE_OXYGENATOR_PRESSURE: "180"}) == {Reason.DROP}  # post stays 190
    assert corrected({Q.PRE_OXYGENATOR_PRESSURE: "215"}) == set()
    assert corrected({Q.DIASTOLIC_PRESSURE: "90"}) == {Reason.PULSE}  # systolic stays 89
    assert corrected({Q.SWEEP_GAS_FLOW: "0.5"}) == {Reason.SWEEP_FOR_FLOW}
    assert corrected({Q.PUMP_FLOW: "6.0", Q.SWEEP_GAS_FLOW: "1.0"}) == {Reason.SWEEP_FOR_FLOW}
    situation = Situation(TABLE, HERE.known, HOUR, stays={q: float(text) for q, text in BASE.items()})
    judged = judge(situation, {Q.PRE_OXYGENATOR_PRESSURE: "180"})
    assert judged.of(Q.PRE_OXYGENATOR_PRESSURE).standing is Standing.REFUSED  # asked where it was typed
    assert judged.of(Q.POST_OXYGENATOR_PRESSURE).standing is Standing.EMPTY
    assert judged.derived[Q.OXYGENATOR_PRESSURE_DROP] == -10
    assert judged.values == {}
    odd = {**BASE, Q.LIMB_NIRS_LEFT: "60", Q.LIMB_NIRS_RIGHT: "40"}  # settled when the set was sent
    assert corrected({Q.PUMP_FLOW: "4.3"}, odd) == set()
