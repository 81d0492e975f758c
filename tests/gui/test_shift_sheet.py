"""The pages of a shift: few, with the cautions on each, no verdict in them, and everything that is open."""

from dataclasses import replace
from datetime import UTC
from pathlib import Path

import pytest
from PySide6.QtWidgets import QApplication

from monitor.record.reading import read_only
from monitor.reports.shift.card import OPEN, UNSEEN, card_of
from monitor.reports.shift.figures import LimitFigures
from monitor.reports.shift.gather import Gathered, gather
from monitor.reports.shift.open_items import OpenItem
from monitor.reports.shift.sheet import write_report
from shared.cautions import ON_PAPER
from shared.errors import RecordError
from shared.instant import HOUR, MINUTE
from shared.quantities import Quantity as Q
from tests.helpers.paper import pages
from tests.helpers.written_night import write_night
from tests.helpers.written_unit import BEGIN


@pytest.fixture(scope="module")
def found(tmp_path_factory: pytest.TempPathFactory) -> Gathered:
    unit = write_night(tmp_path_factory.mktemp("sheet") / "unit.record", seed=3, steps=24)
    with read_only(unit.path) as record:
        return gather(record.hours(BEGIN + HOUR, unit.now), "Night", unit.now)


@pytest.mark.parametrize("unit", [True, False])
def test_that_eight_beds_have_room_on_two_pages(
    qapp: QApplication, found: Gathered, tmp_path: Path, unit: bool
) -> None:
    to = tmp_path / "report.pdf"
    assert write_report(to, found, unit=unit) == len(pages(to)) <= 2
    assert len(found.report.beds) == 8


#: Words and how often each ended unseen; without: it stands. As a bed had them after twelve crowded hours.
_CROWD = (
    ("No readings", None), ("In transport: CT; departure list not ticked", None), ("Console quiet", None),
    ("Return from transport is late", None), ("No feed", 14), ("Flow 2.0, limit 3.4", 6), ("Flow 2.0, limit 2", 6),
    ("Console readings stand still", 45), ("Drain P −105, limit −100", 9), ("MAP 48, limit 50", 5),
    ("MAP 48, limit 60", 5), ("Flow 3.7, limit 3.8", 5), ("Pre-oxy P 390, limit 380", 1),
)  # fmt: skip


@pytest.fixture(scope="module")
def dense(found: Gathered) -> Gathered:
    """Eight times the bed of which most was written down, with a hundred open items."""
    begin = found.report.begin
    busiest = max(found.report.beds, key=lambda bed: len(bed.events))
    items = tuple(
        OpenItem(
            "alert", busiest.bed, 1, words, begin + (20 * kind + n) * MINUTE, None, "high", None, times is not None
        )
        for kind, (words, times) in enumerate(_CROWD)
        for n in range(times or 1)
    )
    busiest = replace(busiest, open=items, events=busiest.events * 3)
    beds = tuple(replace(busiest, bed=bed.bed) for bed in found.report.beds)
    drawn = {
        (bed.bed, slot, quantity): one
        for (of, slot, quantity), one in found.drawn.items()
        if of == busiest.bed
        for bed in beds
    }
    return replace(found, report=replace(found.report, beds=beds), drawn=drawn)


def test_that_eight_dense_beds_have_room_on_two_pages_with_all_that_is_open(
    qapp: QApplication, dense: Gathered, tmp_path: Path
) -> None:
    to = tmp_path / "dense.pdf"
    assert write_report(to, dense) == len(pages(to)) == 2
    text, [bed, *_] = " ".join(pages(to)), dense.report.beds
    zone = dense.standing.configuration.unit.zone
    card = card_of(bed, zone, dense.label, dense.report.begin, dense.report.end)
    still = [line for section in card.sections if section.title in (OPEN, UNSEEN) for line in section.lines]
    assert len(bed.open) == 100
    assert len(still) == len(_CROWD)
    assert [line for line in still if text.count(line) < 8] == []
    assert text.count("more: see the bed page") >= 8


def test_that_all_that_is_open_at_an_empty_bed_stands_on_paper(
    qapp: QApplication, dense: Gathered, tmp_path: Path
) -> None:
    first, *others = dense.report.beds
    report = replace(dense.report, beds=(replace(first, runs=()), *others))
    to = tmp_path / "empty.pdf"
    write_report(to, replace(dense, report=report))
    text = " ".join(pages(to))
    assert all(text.count(item.words) >= 8 for item in first.open)


def test_that_limits_own_limits_and_ages_of_devices_have_their_units(found: Gathered) -> None:
    bed = next(bed for bed in found.report.beds if any(run.ended is None and run.limits for run in bed.runs))
    own = LimitFigures("map_low", Q.MEAN_ARTERIAL_PRESSURE, False, 55.0, by="charge")
    usual = LimitFigures("flow_low", Q.PUMP_FLOW, False, 2.5)
    since = {"pump_head": found.report.end - 342 * HOUR}
    run = replace(bed.runs[0], ended=None, limits=(own, usual), devices=since)
    card = card_of(replace(bed, runs=(run,)), UTC, found.label, found.report.begin, found.report.end)
    said = " ".join(repr(card).replace("\\xa0", " ").split())
    assert "OWN LIMIT MAP < 55 mmHg" in said
    assert "Flow < 2.5 L/min" in said
    assert "pump head 14 d 6 h" in said


def test_that_many_beds_have_their_limits_whole_where_that_costs_no_page(
    qapp: QApplication, found: Gathered, tmp_path: Path
) -> None:
    """As many pages as the cards need with no line of limits at all."""
    many = replace(found, report=replace(found.report, beds=found.report.beds * 3))
    to = tmp_path / "many.pdf"
    assert write_report(to, many) > 2
    text = " ".join(pages(to)).replace("\u00a0", " ")
    assert text.count("Limits: Flow < 3.6, < 2.5, < 1.5 L/min") >= 3
    assert "more: see the bed page" not in text


def test_that_every_page_says_what_it_is_not(qapp: QApplication, found: Gathered, tmp_path: Path) -> None:
    write_report(tmp_path / "report.pdf", found)
    for text in pages(tmp_path / "report.pdf"):
        assert all(caution in text for caution in ON_PAPER)
        assert "stable" not in text.casefold()
        assert "SIMULATED" in text


def test_that_everything_open_stands_on_paper(qapp: QApplication, found: Gathered, tmp_path: Path) -> None:
    note = "Family comes at 14:00"
    write_report(tmp_path / "report.pdf", found, notes=(note,))
    text = " ".join(pages(tmp_path / "report.pdf"))
    assert f"Note by hand: {note} Given by ____" in text
    planned = [event.words for bed in found.report.beds for event in bed.planned]
    assert planned == ["CT, Charge 2"]
    assert all(f": {words}" in text for words in planned)
    items = [item for bed in found.report.beds for item in bed.open]
    assert items
    assert all(item.words in text for item in items)


def test_that_a_folder_that_is_not_there_is_named(qapp: QApplication, found: Gathered, tmp_path: Path) -> None:
    with pytest.raises(RecordError, match="there is no folder"):
        write_report(tmp_path / "none" / "report.pdf", found)
