"""The equipment of the unit: what people say of it, every refusal, and what runs take along."""

from typing import Any

import pytest

from monitor.core.commands import COMMANDS
from monitor.core.effects import Effect, Persist, Publish
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.equipment import acts
from monitor.core.equipment.standing import hours_run
from monitor.core.equipment.state import ITEM, ItemEvent, ItemState
from monitor.core.equipment.table import EquipmentTable
from monitor.core.events import Commanded
from shared.instant import HOUR
from shared.quantities import Quantity as Q
from shared.support import Support
from tests.helpers.stock import TABLE, Stocked

S, E = ItemState, ItemEvent


@pytest.fixture
def ward() -> Stocked:
    return Stocked()


def place_of(ward: Stocked, item: str) -> tuple[str | None, int | None, str]:
    found = ward.items[item]
    return found.bed, found.slot, found.place


def test_that_items_are_at_first_where_the_configuration_says(ward: Stocked) -> None:
    assert place_of(ward, "C1") == ("B1", 1, "")
    assert place_of(ward, "D1") == ("B1", None, "")
    assert place_of(ward, "C2") == (None, None, "Store")
    assert ward.items["K1"].primed_at == ward.begin
    assert list(ward.items) == ["C1", "C2", "C3", "D1", "D2", "K1", "H1", "O1", "O2"]


def test_that_nothing_but_a_persons_check_or_return_brings_an_item_into_service() -> None:
    into = {event for (before, event), after in ITEM.items() if after is S.IN_SERVICE}
    assert into == {E.PASSED, E.RETURNED}
    assert {before for (before, event) in ITEM if event is E.RETURNED} == {S.QUARANTINED}
    assert (S.QUARANTINED, E.PASSED) not in ITEM
    assert not [after for (before, _), after in ITEM.items() if before is S.USED]


def test_that_whatever_happens_to_an_item_leaves_it_where_it_belongs() -> None:
    """Each state with what becomes of it when it passed, had a fault, was returned, was freed, was used up."""
    no, ready, check, out, used = None, S.IN_SERVICE, S.TO_CHECK, S.QUARANTINED, S.USED
    becomes = {
        ready: (ready, out, no, check, used),
        check: (ready, out, no, check, used),
        out: (no, out, ready, out, used),
        used: (no, no, no, no, no),
    }
    assert {state: tuple(ITEM.get((state, event)) for event in E) for state in S} == becomes


def test_that_a_check_that_is_passed_leaves_an_item_in_service_as_it_was(ward: Stocked) -> None:
    ward.does("item_check", item="C2", charge=91)
    found = ward.items["C2"]
    assert (found.state, found.checked_at, found.charge, found.why) == (S.IN_SERVICE, ward.now, 91, "")


def effects_of(ward: Stocked, kind: str, **fields: Any) -> list[Effect]:
    said = {"kind": kind, "id": "said", "person": "charge-1", **fields}
    return ward.engine.handle(Commanded(COMMANDS.validate_python(said, strict=False)), ward.now)


@pytest.mark.parametrize(
    ("kind", "fields", "words"),
    [
        ("item_check", {"item": "C2", "charge": 91}, ["C2 checked, charge 91 %"]),
        ("item_check", {"item": "K1", "primed": True}, ["K1 checked, primed"]),
        ("item_note", {"item": "D2", "note": "lead is short"}, ["D2: lead is short"]),
        ("item_quarantine", {"item": "D1", "reason": "swollen"}, ["D1 in quarantine: swollen"]),
        ("item_new", {"item": "T1", "of": "tubing", "place": "Store"}, ["T1 is new: Store, to be checked"]),
        ("item_place", {"item": "C1", "place": "Store"}, ["C1: to be checked", "C1: Store"]),
        ("item_place", {"item": "O1", "place": "Bin"}, ["O1: used"]),
    ],
)
def test_that_what_is_said_of_an_item_is_written_down_and_told_to_every_desk(
    ward: Stocked, kind: str, fields: dict[str, Any], words: list[str]
) -> None:
    effects = effects_of(ward, kind, **fields)
    entries = [one.entry for one in effects if isinstance(one, Persist)]
    assert [entry.text for entry in entries] == words
    assert {(entry.item, entry.person, entry.command) for entry in entries} == {
        (fields["item"], "charge-1", "said")
    }
    assert Publish(None) in effects


def test_that_what_comes_off_a_run_in_quarantine_stays_there_in_words_too(ward: Stocked) -> None:
    ward.does("item_quarantine", item="C1", reason="fan is loud")
    effects = effects_of(ward, "item_place", item="C1", place="Workshop")
    assert [one.entry.text for one in effects if isinstance(one, Persist)] == ["C1: in quarantine", "C1: Workshop"]


def test_that_nothing_is_owed_any_more_once_the_one_from_before_is_taken_off(ward: Stocked) -> None:
    ward.after(1)
    ward.does("exchange", bed="B1", device="oxygenator", on="O2")
    assert "oxygenator" in owed(ward)
    ward.does("item_place", item="O1", place="Bin")
    assert "oxygenator" not in owed(ward)


def test_that_an_item_goes_to_a_run_and_comes_back_to_be_checked(ward: Stocked) -> None:
    ward.does("item_place", item="C2", bed="B2", slot=1)
    assert place_of(ward, "C2") == ("B2", 1, "")
    ward.does("item_place", item="C2", place="Store")
    assert (ward.items["C2"].state, place_of(ward, "C2")) == (S.TO_CHECK, (None, None, "Store"))
    ward.does("item_check", item="C2", charge=95)
    found = ward.items["C2"]
    assert (found.state, found.checked_by, found.charge) == (S.IN_SERVICE, "charge-1", 95)
    kinds = [e.kind for e in ward.entries if e.item == "C2"]
    placed, freed, checked = EntryKind.ITEM_PLACED, EntryKind.ITEM_FREED, EntryKind.ITEM_CHECKED
    assert kinds == [placed, freed, placed, checked]


def test_that_what_serves_once_is_used_up_when_it_comes_off(ward: Stocked) -> None:
    ward.does("item_place", item="K1", bed="B2", slot=1)
    ward.does("item_place", item="K1", place="Store")
    assert ward.items["K1"].state is S.USED
    assert place_of(ward, "K1") == (None, None, "used at B2")
    for kind, more in (("item_place", {"bed": "B1"}), ("item_check", {}), ("item_quarantine", {"reason": "x"})):
        assert ward.give(kind, item="K1", **more) == "K1 was used on a run and serves no other"


def test_that_what_only_stood_beside_a_bed_stays_as_it_was(ward: Stocked) -> None:
    ward.does("item_place", item="D1", place="Store")
    assert ward.items["D1"].state is S.IN_SERVICE


REFUSED = [
    ("item_place", {"item": "X9", "place": "Store"}, "there is no item X9"),
    ("item_place", {"item": "C2", "place": "Store"}, "C2 is there already: Store"),
    ("item_place", {"item": "D1", "bed": "B1"}, "D1 is there already: at B1"),
    ("item_place", {"item": "C2", "bed": "B9"}, "there is no bed B9"),
    ("item_place", {"item": "C2", "bed": "B4", "slot": 1}, "no run is open at B4, pump 1"),
    ("item_place", {"item": "C1", "bed": "B2", "slot": 1}, "C1 is on the run at B1, pump 1: take it back first"),
    ("item_place", {"item": "C3", "bed": "B2", "slot": 1}, "C3 is for the pump small, this run has broad"),
    ("item_check", {"item": "C1", "primed": True}, "C1 is no circuit and cannot be primed"),
    ("item_check", {"item": "D1", "charge": 50}, "D1 has no charge"),
    ("item_return", {"item": "C1", "reason": "x"}, "C1 is not in quarantine"),
    ("item_new", {"item": "C1", "of": "console", "place": "Store"}, "there is an item C1 already"),
    ("item_new", {"item": "T1", "of": "tubing", "place": "S", "primed_at": 5}, "only a circuit is primed, and not"),
    ("item_new", {"item": "T1", "of": "circuit", "place": "S", "primed_at": 2**50}, "only a circuit is primed"),
]


@pytest.mark.parametrize(("kind", "fields", "why"), REFUSED)
def test_that_what_cannot_be_is_refused_in_words(
    ward: Stocked, kind: str, fields: dict[str, Any], why: str
) -> None:
    before = ward.engine.checkpoint()
    assert (ward.give(kind, **fields) or "").startswith(why)
    assert ward.engine.checkpoint() == before


def test_that_an_item_for_other_supports_is_refused(ward: Stocked) -> None:
    ward.does("run_end", bed="B2")
    assert ward.starts("B2", Support.VV) is None
    assert ward.give("item_place", item="K1", bed="B2", slot=1) == "K1 is for VA, this run is VV"


@pytest.mark.parametrize(
    "fields", [{}, {"bed": "B1", "place": "Store"}, {"place": "Store", "slot": 1}, {"place": "  "}]
)
def test_that_a_place_is_exactly_one(ward: Stocked, fields: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"a bed or a place|needs its bed"):
        ward.give("item_place", item="C2", **fields)


@pytest.mark.parametrize("where", [{}, {"bed": "B1", "place": "Store"}, {"place": "Store", "slot": 1}])
def test_that_a_configured_item_is_in_one_place(where: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"give one of the two|a slot is one of a bed"):
        EquipmentTable.model_validate({"item": [{"id": "C1", "kind": "console", **where}]}, strict=False)


@pytest.mark.parametrize("said", [{"checked_by": "perf-1"}, {"checked_at": "2026-01-01T00:00:00Z"}, {"charge": 9}])
def test_that_a_check_on_paper_has_its_time_and_who_did_it(said: dict[str, Any]) -> None:
    with pytest.raises(ValueError, match=r"give both|give its time"):
        EquipmentTable.model_validate(
            {"item": [{"id": "C1", "kind": "console", "place": "S", **said}]}, strict=False
        )


def test_that_quarantine_is_ended_by_a_named_person_alone(ward: Stocked) -> None:
    ward.does("item_check", item="C2", fault="fan is loud")
    assert (ward.items["C2"].state, ward.items["C2"].why) == (S.QUARANTINED, "fan is loud")
    for more in ({"bed": "B4"}, {"bed": "B2", "slot": 1}):
        said = ward.give("item_place", item="C2", **more)
        assert said == "C2 is in quarantine (fan is loud): somebody must return it to service first"
    assert "a check alone does not end that" in (ward.give("item_check", item="C2") or "")
    ward.does("item_place", item="C2", place="Workshop")
    ward.does("item_quarantine", item="C2", reason="still loud")
    ward.after(60 * 24 * 30)
    assert ward.items["C2"].state is S.QUARANTINED, "nothing returns by itself"
    assert "does not write the equipment log" in (ward.give("item_return", "int-1", item="C2", reason="x") or "")
    ward.does("item_return", item="C2", reason="fan changed", charge=100)
    found = ward.items["C2"]
    assert (found.state, found.by, found.checked_by, found.why) == (S.IN_SERVICE, "charge-1", "charge-1", "")
    ward.does("item_quarantine", item="C2", reason="loud again")
    ward.does("item_return", "perf-1", item="C2", reason="mended")
    assert ward.items["C2"].checked_by == "perf-1", "the perfusionist on call, who is not in the unit at all times"


def test_that_roles_keep_the_equipment_and_a_bedside_nurse_leaves_a_note(ward: Stocked) -> None:
    ward.does("item_note", "nurse-1", item="C2", note="scratch on the screen")
    assert ward.items["C2"].note == "scratch on the screen"
    said = ward.give("item_check", "nurse-1", item="C2")
    words = "Nurse-1 can leave a note on an item; the rest of the equipment log: charge nurse or perfusionist can"
    assert said == words
    assert ward.give("item_note", "int-1", item="C2", note="x") is not None


def test_that_a_quarantined_item_on_a_run_stays_there_and_in_quarantine(ward: Stocked) -> None:
    ward.does("item_quarantine", item="C1", reason="screen dark")
    assert place_of(ward, "C1") == ("B1", 1, "")
    ward.does("run_end", bed="B1")
    assert (ward.items["C1"].state, place_of(ward, "C1")) == (S.QUARANTINED, ("B1", None, ""))


def test_that_the_end_of_a_run_frees_its_items_to_be_checked(ward: Stocked) -> None:
    ward.does("item_place", item="K1", bed="B1")
    ward.does("run_end", bed="B1")
    assert {name: ward.items[name].state for name in ("C1", "D1", "O1", "K1")} == {
        "C1": S.TO_CHECK, "D1": S.TO_CHECK, "O1": S.USED, "K1": S.IN_SERVICE,
    }  # fmt: skip
    assert place_of(ward, "D1") == ("B1", None, "")


def test_that_items_move_with_their_run(ward: Stocked) -> None:
    ward.does("run_move", bed="B1", to="B4")
    assert [place_of(ward, name) for name in ("C1", "D1", "O1")] == [
        ("B4", 1, ""), ("B4", None, ""), ("B4", 1, ""),
    ]  # fmt: skip


def test_that_a_run_starts_on_the_items_that_are_named(ward: Stocked) -> None:
    assert ward.starts("B4", Support.VA, items=["C2", "X9"]) == "there is no item X9"
    assert place_of(ward, "C2") == (None, None, "Store")
    assert ward.starts("B4", Support.VA, items=["C2", "K1", "C2"]) is None
    assert (place_of(ward, "C2"), place_of(ward, "K1")) == (("B4", 1, ""), ("B4", 1, ""))


def test_that_an_exchange_takes_one_off_and_puts_one_on_and_makes_that_device_new(ward: Stocked) -> None:
    ward.after(60)
    ward.does("exchange", bed="B1", device="oxygenator", off="O1", on="O2")
    run = ward.engine.tile("B1", ward.now).runs[0]
    ages = {name: ward.now - since for name, since in run.device_since.items()}
    assert ages == {"pump_head": HOUR, "oxygenator": 0, "tubing": HOUR}
    assert run.device_due == {"oxygenator": ward.now + 48 * HOUR}
    assert (ward.items["O1"].state, place_of(ward, "O2")) == (S.USED, ("B1", 1, ""))


def test_that_a_console_swap_makes_no_age_and_no_baseline_new(ward: Stocked) -> None:
    ward.flow("B1", 4.2, 700)
    before = ward.engine.tile("B1", ward.now).runs[0]
    ward.does("exchange", bed="B1", device="console", off="C1", on="C2")
    after = ward.engine.tile("B1", ward.now).runs[0]
    devices = ("pump_head", "oxygenator", "tubing")
    assert [after.device_since[d] for d in devices] == [before.device_since[d] for d in devices]
    assert Q.PUMP_FLOW in before.baseline
    assert after.baseline == before.baseline
    assert (ward.items["C1"].state, place_of(ward, "C1")) == (S.TO_CHECK, ("B1", None, ""))
    assert place_of(ward, "C2") == ("B1", 1, "")


def test_that_a_circuit_serves_for_each_of_its_parts(ward: Stocked) -> None:
    ward.after(1)
    for device in ("pump_head", "oxygenator", "tubing"):
        ward.does("exchange", bed="B1", device=device, on="K1")
    assert len([e for e in ward.entries if e.item == "K1"]) == 1
    assert list(owed(ward)) == ["oxygenator"], "O1 is on the run still: what came off is not recorded"


def owed(ward: Stocked, bed: str = "B1") -> dict[str, int]:
    return ward.engine.tile(bed, ward.now).runs[0].owed


def test_that_an_exchange_without_its_items_is_owed_until_they_are_entered(ward: Stocked) -> None:
    ward.after(60)
    assert owed(ward) == {}, "of what the configuration says nobody left anything out"
    ward.does("exchange", bed="B1", device="oxygenator")
    since = ward.now
    assert owed(ward) == {"oxygenator": since}
    assert ward.entries[-1].text == "Not recorded which item: oxygenator"
    ward.after(5)
    ward.does("item_place", item="O1", place="Bin")
    assert owed(ward) == {"oxygenator": since}
    ward.does("item_place", item="O2", bed="B1", slot=1)
    assert owed(ward) == {}
    ward.does("exchange", bed="B1", device="console", on="C2")
    ward.does("run_move", bed="B1", to="B4")
    assert owed(ward, "B4") == {"console": ward.now}, "C1 came off, and nobody said so"
    ward.does("item_place", item="C1", bed="B4")
    assert owed(ward, "B4") == {}
    ward.does("exchange", bed="B2", device="console")
    ward.does("exchange", bed="B2", device="console", on="C1")
    assert owed(ward, "B2") == {}


def test_that_a_run_that_starts_on_no_named_items_owes_those_that_the_unit_has(ward: Stocked) -> None:
    assert ward.starts("B4", Support.VA, items=["C2"]) is None
    assert list(owed(ward, "B4")) == ["pump_head", "oxygenator", "tubing"]
    ward.does("item_place", item="K1", bed="B4", slot=1)
    assert owed(ward, "B4") == {}, "a circuit has them all"
    few = Stocked(TABLE | {"item": [TABLE["item"][1]]})  # type: ignore[index]
    assert few.starts("B4", Support.VA) is None
    assert list(owed(few, "B4")) == ["console"], "of what the unit keeps no list of, nothing is owed"


def test_that_hours_are_those_of_paper_and_those_of_every_run_since(ward: Stocked) -> None:
    paper = {"hours": 1000.0, "checked_at": "2025-12-31T23:00:00Z", "checked_by": "perf-1", "charge": 97}
    more = {"id": "N1", "kind": "console", "place": "Store", **paper, "quarantine": "fan is loud"}
    ward = Stocked(TABLE | {"item": [more, TABLE["item"][0]]})  # type: ignore[index]
    found = ward.items["N1"]
    assert (found.state, found.why, found.by) == (S.QUARANTINED, "fan is loud", "perf-1")
    assert (found.checked_at, found.checked_by, found.charge) == (ward.begin - HOUR, "perf-1", 97)
    ward.does("item_return", item="N1", reason="fan changed")
    ward.does("item_place", item="N1", bed="B2", slot=1)
    ward.after(60)
    ward.does("run_move", bed="B2", to="B4")
    ward.after(60)
    assert hours_run(ward.items["N1"], ward.now) == 1002
    ward.does("item_place", item="N1", place="Store")
    ward.after(60)
    assert hours_run(ward.items["N1"], ward.now) == 1002
    assert hours_run(ward.items["C1"], ward.now) is None, "what it ran before is not known"


EXCHANGES = [
    ({"device": "oxygenator", "on": "H1"}, "H1 is no oxygenator"),
    ({"device": "oxygenator", "off": "O2"}, "O2 is not on the run at B1, pump 1"),
    ({"device": "console", "off": "X9"}, "X9 is not on the run at B1, pump 1"),
    ({"device": "console", "on": "X9"}, "there is no item X9"),
    ({"device": "console", "off": "C1", "on": "C1"}, "what comes off does not go on again"),
    ({"device": "console", "on": "C3"}, "C3 is for the pump small, this run has broad"),
]


@pytest.mark.parametrize(("fields", "why"), EXCHANGES)
def test_that_an_exchange_with_the_wrong_item_is_refused(ward: Stocked, fields: dict[str, Any], why: str) -> None:
    before = ward.engine.checkpoint()
    assert ward.give("exchange", bed="B1", **fields) == why
    assert ward.engine.checkpoint() == before


def test_that_a_quarantined_item_is_not_exchanged_in(ward: Stocked) -> None:
    ward.does("item_quarantine", item="O2", reason="box open")
    assert "in quarantine" in (ward.give("exchange", bed="B1", device="oxygenator", on="O2") or "")


def test_that_a_new_item_is_to_be_checked_first_and_a_dry_circuit_can_be_primed(ward: Stocked) -> None:
    ward.does("item_new", item="K2", of="circuit", place="Store")
    assert (ward.items["K2"].state, ward.items["K2"].primed_at) == (S.TO_CHECK, None)
    ward.does("item_check", item="K2", primed=True)
    assert (ward.items["K2"].state, ward.items["K2"].primed_at) == (S.IN_SERVICE, ward.now)
    ward.does("item_new", item="K3", of="circuit", place="Store", primed_at=ward.now)
    assert ward.items["K3"].age_notice_at == ward.now + 24 * HOUR


def test_that_what_was_used_is_forgotten_after_a_week_and_only_then(ward: Stocked) -> None:
    ward.does("item_new", item="T1", of="tubing", place="Store")
    ward.does("item_place", item="T1", bed="B1", slot=1)
    ward.does("exchange", bed="B1", device="tubing", off="T1")
    ward.does("item_place", item="K1", bed="B1", slot=1)
    ward.does("item_place", item="K1", place="Store")
    ward.does("item_new", item="T2", of="tubing", place="Store")
    assert "T1" in ward.items
    ward.after(60 * 24 * 7)
    ward.does("item_new", item="T4", of="tubing", place="Store")
    assert "T1" in ward.items, "to the ms"
    ward.after(1)
    ward.does("item_new", item="T3", of="tubing", place="Store")
    assert "T1" not in ward.items
    assert "K1" in ward.items, "what the configuration names stays known"


def test_that_no_more_items_are_known_than_fit(ward: Stocked, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(acts, "MOST", 9)
    assert (ward.give("item_new", item="T1", of="tubing", place="Store") or "").startswith("9 items are known")


def test_that_a_restart_knows_the_same_and_takes_in_what_the_configuration_adds(ward: Stocked) -> None:
    ward.does("item_place", item="C2", bed="B2", slot=1)
    kept = ward.engine.checkpoint()
    ward.reopen()
    assert ward.engine.checkpoint() == kept
    more = [
        {"id": "N1", "kind": "console", "bed": "B77"},
        {"id": "N2", "kind": "console", "bed": "B4", "slot": 1},
        {"id": "C2", "kind": "console", "profile": "small", "place": "Store"},
    ]
    ward.configuration = ward.configuration.model_copy(
        update={"equipment": EquipmentTable.model_validate(TABLE | {"item": more}, strict=False)}
    )
    ward.engine = Engine.restore(ward.configuration, kept)
    assert place_of(ward, "N1") == (None, None, "was B77")
    assert place_of(ward, "N2") == ("B4", None, "")
    assert (place_of(ward, "C2"), ward.items["C2"].profile) == (("B2", 1, ""), "small")
    assert "C1" in ward.items, "an item taken out of the file stays known"
