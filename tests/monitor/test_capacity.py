"""Can we take one more? Each fact when it holds, when it fails and when it is not known, with its words."""

from monitor.core.equipment.capacity import Capacity, Fact, capacity
from shared.instant import HOUR
from shared.support import Support
from tests.helpers.stock import TABLE, Stocked
from tests.helpers.ward import shift

BEDS = ("B1", "B2", "B3", "B4")


def asked(ward: Stocked) -> Capacity:
    return capacity(ward.engine.unit(ward.now), {bed: ward.engine.tile(bed, ward.now) for bed in BEDS}, ward.now)


def facts(ward: Stocked) -> dict[str, Fact]:
    return {fact.what: fact for fact in asked(ward).facts}


def with_all() -> Stocked:
    ward = Stocked()
    for item in ("C2", "K1"):
        ward.does("item_check", item=item, charge=95 if item == "C2" else None)
    ward.does("roster", rung=1, bed="B4", stands="nurse-4")
    return ward


def test_that_it_is_a_yes_only_where_every_fact_holds() -> None:
    ward = with_all()
    assert asked(ward).holds is True
    assert {what: fact.words for what, fact in facts(ward).items()} == {
        "Bed": "without a run: B4",
        "Nurse": "stands there: Nurse-4 at B4",
        "Console": "ready: C2",
        "Circuit": "ready: K1 for VA",
        "Backup drive": "ready: D2",
        "Who is called": "every rung has somebody",
    }
    ward.does("roster", rung=1, bed="B4", stands=None)
    assert asked(ward).holds is None, "what is unknown is never a yes"
    assert facts(ward)["Nurse"].words.endswith("who could come is not known here")


def test_that_each_fact_fails_with_its_reason() -> None:
    ward = with_all()
    ward.does("item_quarantine", item="C2", reason="fan is loud")
    ward.does("item_quarantine", item="D2", reason="swollen")
    ward.does("item_place", item="K1", bed="B1")
    ward.does("roster", rung=3, stands=None)
    ward.does("unreachable", who="surg-1", until=ward.now + HOUR)
    ward.does("run_move", bed="B3", to="B4")
    ward.does("help", bed="B3", what="other")
    found = facts(ward)
    assert all(fact.holds is False for what, fact in found.items() if what != "Nurse")
    assert found["Bed"].words == "B3 without a run, but what was there is not seen yet"
    assert found["Console"].words == (
        "none ready: C2: in quarantine: fan is loud; C3: never checked, charge not known"
    )
    assert found["Circuit"].words == "no spare: all are at a bed, or used"
    assert found["Backup drive"].words == "none ready: D2: in quarantine: swollen"
    assert found["Who is called"].words == "nobody can be called: perfusionist, surgeon"
    assert asked(ward).holds is False
    assert ward.starts("B3", Support.VA) is not None, "the engine says no as well"


def test_that_every_bed_in_use_is_a_no() -> None:
    ward = with_all()
    assert ward.starts("B4", Support.VA) is None
    assert facts(ward)["Bed"] == Fact("Bed", False, "every bed has a run")


def test_that_a_circuit_for_another_pump_is_none() -> None:
    other = {"id": "K9", "kind": "circuit", "profile": "small", "place": "Store"}
    any_pump = {"id": "K8", "kind": "circuit", "place": "Store"}
    for item, holds, words in (
        (other, False, "K9 ready, but for another pump than the ready consoles"),
        (any_pump, True, "ready: K8 for any support"),
    ):
        ward = Stocked(TABLE | {"item": [TABLE["item"][1], item]})  # type: ignore[index]
        ward.does("item_check", item="C2", charge=95)
        ward.does("item_check", item=item["id"])
        assert (facts(ward)["Circuit"].holds, facts(ward)["Circuit"].words) == (holds, words)


def test_that_a_circuit_for_one_of_the_ready_consoles_is_one() -> None:
    other = {"id": "K9", "kind": "circuit", "profile": "small", "place": "Store"}
    ward = Stocked(TABLE | {"item": [*TABLE["item"][1:3], other]})  # type: ignore[index]
    for item in ("C2", "C3", "K9"):
        ward.does("item_check", item=item, charge=None if item == "K9" else 95)
    assert facts(ward)["Circuit"] == Fact("Circuit", True, "ready: K9 for any support")


def test_that_a_desk_without_a_charge_nurse_is_a_rung_that_nobody_answers() -> None:
    ward = with_all()
    ward.does("roster", rung=2, stands=None)
    assert facts(ward)["Who is called"] == Fact("Who is called", False, "nobody can be called: charge nurse")
    ward.does("roster", rung=2, stands="charge-1")
    ward.does("roster", rung=1, bed="B1", stands=None)
    assert facts(ward)["Who is called"].holds, "a bed's nurse is no rung of the unit"


def test_that_what_is_told_in_short_leaves_nothing_out_where_it_fits() -> None:
    spare = [{"id": f"C{n}", "kind": "console", "place": "Store", "hours": 1} for n in range(3)]
    ward = Stocked(TABLE | {"item": spare})
    assert facts(ward)["Console"].words.endswith("; C2: never checked, charge not known")


def test_that_what_the_unit_keeps_no_list_of_is_not_known() -> None:
    ward = Stocked(TABLE | {"item": []})
    for what in ("Console", "Circuit", "Backup drive"):
        assert facts(ward)[what] == Fact(what, None, "none of this kind is in the unit's list")
    unit = ward.engine.unit(ward.now).model_copy(update={"cover": ()})
    bed, *_, rungs = capacity(unit, {}, ward.now).facts
    assert (rungs.holds, rungs.words) == (None, "no roster is known")
    assert bed == Fact("Bed", None, "no bed is known")
    uncounted = Stocked(TABLE | {"spares": ["console"]})
    uncounted.does("item_check", item="K1")
    assert facts(uncounted)["Circuit"].holds, "it is there, whether the header counts its kind or not"


def test_that_holes_to_come_and_many_names_are_told_in_short() -> None:
    spare = [{"id": f"C{n}", "kind": "console", "place": "Store", "hours": 1} for n in range(5)]
    shifts = [shift("Day", "00:00", "12:00", charge="charge-1"), shift("Night", "12:00", "00:00")]
    ward = Stocked(TABLE | {"item": spare}, shifts)
    who = facts(ward)["Who is called"].words
    assert who == "every rung has somebody; nobody then: charge nurse from in 12 h"
    unit = ward.engine.unit(ward.now)
    (hole,) = [one for one in unit.roster.forecast if one.post.bed is None]
    of_a_bed = hole.model_copy(update={"post": hole.post.model_copy(update={"bed": "B1"})})
    for begins, forecast, told in (
        (ward.now, (hole,), False), (ward.now + 1, (hole,), True), (ward.now + 1, (of_a_bed,), False),
    ):  # fmt: skip
        holes = tuple(one.model_copy(update={"begins": begins}) for one in forecast)
        roster = unit.roster.model_copy(update={"forecast": holes})
        *_, fact = capacity(unit.model_copy(update={"roster": roster}), {}, ward.now).facts
        assert ("nobody then" in fact.words) is told
    assert facts(ward)["Console"].words.endswith("C2: never checked, charge not known and 2 more")
