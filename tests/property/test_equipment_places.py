"""Equipment under anything that people may say: one place at every moment, quarantine holds, spares count."""

from copy import deepcopy
from typing import Any

from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from monitor.core.equipment.standing import spares
from monitor.core.equipment.state import ItemState
from monitor.core.equipment.table import ItemKind
from shared.instant import HOUR
from shared.support import Support
from tests.helpers.stock import TABLE, Stocked

ITEMS = st.sampled_from(["C1", "C2", "C3", "D1", "D2", "K1", "O1", "O2", "H1"])
BEDS = st.sampled_from(["B1", "B2", "B4"])
CHARGES = st.sampled_from([None, 50, 95])
STEPS = st.one_of(
    st.tuples(st.just("item_place"), ITEMS.map(lambda i: {"item": i, "place": "Store"})),
    st.tuples(st.just("item_place"), st.builds(lambda i, b: {"item": i, "bed": b}, ITEMS, BEDS)),
    st.tuples(st.just("item_place"), st.builds(lambda i, b: {"item": i, "bed": b, "slot": 1}, ITEMS, BEDS)),
    st.tuples(st.just("item_check"), st.builds(lambda i, c: {"item": i, "charge": c}, ITEMS, CHARGES)),
    st.tuples(st.just("item_quarantine"), ITEMS.map(lambda i: {"item": i, "reason": "noise"})),
    st.tuples(st.just("item_return"), ITEMS.map(lambda i: {"item": i, "reason": "mended"})),
    st.tuples(st.just("exchange"), st.builds(lambda b, d, off, on: {"bed": b, "device": d, "off": off, "on": on},
        BEDS, st.sampled_from(["console", "oxygenator", "pump_head"]), st.none() | ITEMS, st.none() | ITEMS)),
    st.tuples(st.just("run_end"), BEDS.map(lambda b: {"bed": b})),
    st.tuples(st.just("run_move"), st.builds(lambda b, to: {"bed": b, "to": to}, BEDS, BEDS)),
    st.tuples(st.just("start"), st.builds(lambda b, i: {"bed": b, "items": i}, BEDS, st.lists(ITEMS, max_size=2))),
    st.tuples(st.just("wait"), st.sampled_from([{"minutes": 30}, {"minutes": 800}])),
    st.tuples(st.just("reopen"), st.just({})),
)  # fmt: skip


def told(ward: Stocked, what: str, fields: dict[str, Any]) -> bool:
    """Do a step; whether a command was carried out."""
    if what == "wait":
        ward.after(fields["minutes"])
    elif what == "reopen":
        kept = ward.engine.checkpoint()
        ward.reopen()
        assert ward.engine.checkpoint() == kept
    elif what == "start":
        return ward.starts(fields["bed"], Support.VA, items=fields["items"]) is None
    else:
        return ward.give(what, **fields) is None
    return False


def named(what: str, fields: dict[str, Any]) -> list[str]:
    """Give the items that a step would put to a bed."""
    if what == "item_place" and "bed" in fields:
        return [fields["item"]]
    return [*fields.get("items", ()), *([fields["on"]] if fields.get("on") else ())]


def naive_count(ward: Stocked) -> tuple[int, int]:
    """Count spares from the engine's own state and the table as a person would."""
    ready = every = 0
    for item in ward.kept.values():
        if item.kind.value not in TABLE["spares"] or item.bed is not None or item.state is ItemState.USED:
            continue
        every += 1
        hours = TABLE["check_every_h"].get(item.kind.value)  # type: ignore[attr-defined]
        checked = hours is None or (item.checked_at is not None and ward.now < item.checked_at + hours * HOUR)
        charged = item.kind is not ItemKind.CONSOLE or (item.charge or 0) >= 90
        ready += item.state is ItemState.IN_SERVICE and checked and charged
    return ready, every


@settings(max_examples=60, deadline=None, phases=[Phase.generate])
@given(steps=st.lists(STEPS, min_size=5, max_size=30))
def test_that_an_item_is_in_one_place_and_quarantine_holds_and_spares_are_counted(
    steps: list[tuple[str, dict[str, Any]]],
) -> None:
    ward = Stocked()
    known = set(ward.kept)
    for what, fields in steps:
        locked = {name for name, item in ward.kept.items() if item.state is ItemState.QUARANTINED}
        before = deepcopy(ward.kept)
        done = told(ward, what, fields)
        if what not in ("wait", "reopen", "start") and not done:
            assert ward.kept == before
        for name in named(what, fields):
            assert not done or name not in locked, f"{name} is in quarantine and was assigned"
        if done and what == "exchange" and fields["on"] is None:
            run = ward.engine._state.beds[fields["bed"]].runs[1]
            assert fields["device"] in run.owed, "which item is on now was not said, and nothing marks it"
        returned = {fields["item"]} if what == "item_return" else set()
        still = {name for name, item in ward.kept.items() if item.state in (ItemState.QUARANTINED, ItemState.USED)}
        assert locked - returned <= still, "something came out of quarantine by itself"
        for item in ward.kept.values():
            assert (item.bed is None) == bool(item.place), "not in exactly one place"
            if item.slot is not None:
                assert item.bed is not None
                assert item.slot in ward.engine._state.beds[item.bed].runs, "on a run that is not there"
            assert item.state is not ItemState.USED or item.bed is None
        assert set(ward.kept) == known
        found = spares(ward.engine.unit(ward.now).equipment, ward.now)
        assert (found.ready, found.of) == naive_count(ward)
