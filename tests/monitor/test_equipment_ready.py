"""Which spares are ready, and what is told of an item, by the hub's time."""

from monitor.core.equipment.standing import notices, span, spares, why_not_ready, worst_first
from monitor.core.equipment.table import ItemKind
from shared.instant import HOUR, MINUTE
from tests.helpers.stock import Stocked


def told(ward: Stocked, item: str) -> list[str]:
    return list(notices(ward.items[item], ward.now))


def why(ward: Stocked, item: str) -> tuple[str, ...]:
    return why_not_ready(ward.items[item], ward.now)


def counted(ward: Stocked) -> tuple[int, int]:
    found = spares(ward.engine.unit(ward.now).equipment, ward.now)
    return found.ready, found.of


def test_that_a_spare_is_ready_in_service_checked_in_time_and_charged() -> None:
    ward = Stocked()
    assert why(ward, "C2") == ("never checked", "charge not known")
    assert why(ward, "D2") == (), "a kind without an interval is never due"
    ward.does("item_check", item="C2", charge=89)
    assert why(ward, "C2") == ("charge 89 %, ready from 90 %",)
    ward.does("item_check", item="C2", charge=90)
    assert why(ward, "C2") == ()
    ward.after(12 * 60 - 1)
    assert why(ward, "C2") == ()
    ward.after(61)
    assert why(ward, "C2") == ("check due for 1 h",)


def test_that_spares_are_counted_with_the_reasons_of_those_that_are_not_ready() -> None:
    ward = Stocked()
    assert counted(ward) == (1, 4), "C2, C3, D2 and K1 are at no bed; D2 alone is ready"
    ward.does("item_check", item="C2", charge=100)
    ward.does("item_check", item="K1")
    assert counted(ward) == (3, 4)
    ward.does("item_quarantine", item="D2", reason="battery swollen")
    found = spares(ward.engine.unit(ward.now).equipment, ward.now)
    assert dict(found.not_ready)["D2"] == ("in quarantine: battery swollen",)
    ward.does("item_place", item="C2", bed="B4")
    assert counted(ward) == (1, 3)
    assert why(ward, "C2") == ("beside B4",)
    ward.does("item_place", item="C2", bed="B2", slot=1)
    assert why(ward, "C2") == ("in use at B2",)
    ward.does("item_place", item="K1", bed="B2", slot=1)
    ward.does("item_place", item="K1", place="Bin")
    assert why(ward, "K1") == ("used",)
    assert counted(ward) == (0, 2)


def test_that_age_is_told_and_makes_nothing_unready() -> None:
    ward = Stocked()
    ward.does("item_check", item="K1")
    ward.after(24 * 60 - 1)
    assert told(ward, "K1") == []
    ward.does("item_check", item="K1")
    ward.after(1)
    assert told(ward, "K1") == ["primed 1 d ago"]
    assert why(ward, "K1") == ()


def test_that_what_came_off_a_run_is_told_to_be_checked() -> None:
    ward = Stocked()
    ward.does("run_end", bed="B1")
    assert told(ward, "C1") == ["to be checked"]


def test_that_a_length_of_time_is_written_in_two_units_at_most() -> None:
    lengths = (-5, 0, 59 * MINUTE, HOUR, 23 * HOUR, 24 * HOUR, 76 * HOUR + 59 * MINUTE)
    assert [span(one) for one in lengths] == ["0 min", "0 min", "59 min", "1 h", "23 h", "1 d", "3 d 4 h"]


def test_that_fewer_ready_spares_than_the_unit_wants_are_named_by_kind() -> None:
    ward = Stocked()
    assert spares(ward.engine.unit(ward.now).equipment, ward.now).short == (
        (ItemKind.CONSOLE, 0, 2),
        (ItemKind.CIRCUIT, 0, 1),
    )
    for item in ("C2", "C3", "K1"):
        ward.does("item_check", item=item, charge=None if item == "K1" else 95)
    assert spares(ward.engine.unit(ward.now).equipment, ward.now).short == ()


def test_that_what_is_worst_comes_first() -> None:
    ward = Stocked()
    ward.does("item_check", item="C2", charge=50)
    ward.does("item_check", item="C3", charge=95)
    ward.does("item_quarantine", item="D2", reason="swollen")
    ward.does("item_new", item="T1", of="tubing", place="Store")
    ward.does("item_place", item="H1", bed="B2", slot=1)
    ward.does("item_place", item="H1", place="Bin")
    items = ward.items.values()
    told = ["D2", "T1", "C1", "K1", "C2", "O1", "C3", "D1", "O2", "H1"]
    assert [item.id for item in worst_first(items, ward.now, due={"O1"})] == told
    one_of_each = [ward.items[name] for name in ("D2", "T1", "C1", "C2", "O1", "C3", "H1")]
    assert worst_first(one_of_each[::-1], ward.now, due={"O1"}) == one_of_each
    ward.does("item_check", item="K1")
    ward.after(24 * 60)
    ward.does("item_check", item="K1")
    aged = [ward.items["C3"], ward.items["K1"]]
    assert worst_first(aged, ward.now)[0].id == "C3", "a check is due"
    ward.does("item_check", item="C3", charge=95)
    aged = [ward.items["C3"], ward.items["K1"]]
    assert worst_first(aged, ward.now)[0].id == "K1"
    assert [item.id for item in worst_first(items, ward.now)][-5] == "K1", "its age is told, and nothing else"
