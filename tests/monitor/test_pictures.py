"""The diagrams of the manual: they are those of the tables now, every row is in them, and no text meets another."""

import re
from itertools import combinations
from pathlib import Path
from xml.etree import ElementTree

import pytest

from monitor.cli.diagrams import diagrams
from monitor.cli.drawing.bars import Class, Lane, draw_bars
from monitor.cli.drawing.columns import Way, draw_columns
from monitor.cli.main import main
from monitor.cli.paths import ROOT
from monitor.cli.pictures import DIAGRAMS
from monitor.core.alerts.alert import CONDITION, SIGNAL
from monitor.core.equipment.state import ITEM
from monitor.core.grades import LadderClass
from shared.entry.draft import TABLE as DRAFT_TABLE
from shared.entry.versions import TABLE as SENT_TABLE
from shared.feed_link import FEED_TABLE
from shared.link import HUB_TABLE
from shared.look.colour import contrast
from shared.look.palette import Hex
from shared.look.svg import LETTER
from tests.helpers.courses import shipped

DRAWN = diagrams(shipped().ladder)
SVG = "{http://www.w3.org/2000/svg}"
Box = tuple[float, float, float, float]


def texts(svg: str) -> list[tuple[str, Box]]:
    """Give every text with the box that it cannot leave: left, top, right, bottom."""
    found = []
    for node in ElementTree.fromstring(svg).iter(f"{SVG}text"):
        words, size = node.text or "", float(node.attrib["font-size"])
        x, y, wide = float(node.attrib["x"]), float(node.attrib["y"]), len(words) * size * LETTER
        left = x - wide * {"start": 0.0, "middle": 0.5, "end": 1.0}[node.attrib["text-anchor"]]
        found.append((words, (left, y - size * 0.8, left + wide, y + size * 0.2)))
    return found


def overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def test_that_the_diagrams_of_the_manual_are_those_of_the_tables_now() -> None:
    stand = {path.name: path.read_text(encoding="utf-8") for path in (ROOT / DIAGRAMS).glob("*.svg")}
    assert stand.keys() == DRAWN.keys()
    old = [name for name, text in DRAWN.items() if stand[name] != text]
    assert old == [], "draw them again: ./weirkeeper pictures --diagrams"


@pytest.mark.parametrize(
    ("name", "rows"),
    [
        ("alert_condition.svg", [(b.value, c.value, a.value) for (b, c), (a, _) in CONDITION.items()]),
        ("alert_signal.svg", [(b.value, c.value, a.value) for (b, c), a in SIGNAL.items()]),
        ("round_draft.svg", [(b.value, c.value, a.value) for (b, c), a in DRAFT_TABLE.items()]),
        ("round_sent.svg", [(b.value, c.value, a.value) for (b, c), a in SENT_TABLE.items()]),
        ("item.svg", [(b.value, c.value, a.value) for (b, c), a in ITEM.items()]),
        ("feed_link_hub.svg", [(b.value, c.value, a.value) for (b, c), (a, _) in HUB_TABLE.items()]),
        ("feed_link_feed.svg", [(b.value, c.value, a.value) for (b, c), (a, _) in FEED_TABLE.items()]),
    ],
)
def test_that_every_row_of_a_table_is_in_its_diagram(name: str, rows: list[tuple[str, str, str]]) -> None:
    said = " ".join(words for words, _ in texts(DRAWN[name])).replace("\u00a0", "_")
    for before, cause, after in rows:
        assert before in said
        assert after in said
        assert cause in said or "anything" in said


@pytest.mark.parametrize("name", DRAWN)
def test_that_no_text_meets_another_or_leaves_the_sheet(name: str) -> None:
    found = texts(DRAWN[name])
    sheet = ElementTree.fromstring(DRAWN[name])
    wide, high = float(sheet.attrib["width"]), float(sheet.attrib["height"])
    assert [(a[0], b[0]) for a, b in combinations(found, 2) if overlap(a[1], b[1])] == []
    assert [w for w, (left, top, right, low) in found if left < 0 or top < 0 or right > wide or low > high] == []


@pytest.mark.parametrize("name", DRAWN)
def test_that_a_diagram_brings_its_own_ground_and_its_text_stands_out_of_it(name: str) -> None:
    ground = re.search(r'<rect width="[0-9.]+" height="[0-9.]+" fill="(#[0-9A-F]{6})"/>', DRAWN[name])
    assert ground is not None
    inks = {node.attrib["fill"] for node in ElementTree.fromstring(DRAWN[name]).iter(f"{SVG}text")}
    assert inks
    assert min(contrast(Hex(ink), Hex(ground[1])) for ink in inks) >= 4.5  # WCAG 2.2, 1.4.3


def test_that_every_class_of_the_ladder_is_drawn_with_its_times() -> None:
    said = [words for words, _ in texts(DRAWN["ladder.svg"])]
    assert sum(words in ("Charge nurse",) for words in said) == len(LadderClass)
    rows = shipped().ladder.rows[LadderClass.HIGH_OTHER]
    at = said.index("High, other")
    nexts = [words for words in said[at : at + 12] if re.fullmatch(r"\d+:\d\d", words)]
    assert nexts == ["0:00", "1:00", "2:00", "3:00", "5:00"]
    assert (rows.r5, rows.repeat_from_s) == (300, 420)
    assert said[at + 1] == "from 7:00 every 2:00: all called so far"


def test_that_a_changed_table_changes_its_diagram() -> None:
    rows = shipped().ladder.rows
    later = rows[LadderClass.MEDIUM].model_copy(update={"r2": 240.0})
    changed = shipped().ladder.model_copy(update={"rows": {**rows, LadderClass.MEDIUM: later}})
    redrawn = diagrams(changed)
    assert [name for name, text in redrawn.items() if text != DRAWN[name]] == ["ladder.svg"]


def test_that_long_words_are_broken_and_never_run_over_an_arrow() -> None:
    many = Way("a", "b", ", ".join(f"cause{number}" for number in range(30)))
    found = texts(draw_columns("Many", ("About it",), ["a", "b"], [many, Way("b", "b", "again"), many]))
    assert [(x[0], y[0]) for x, y in combinations(found, 2) if overlap(x[1], y[1])] == []


def test_that_bars_show_what_is_never_called_as_an_empty_lane() -> None:
    svg = draw_bars("Bars", ("About",), [Class("One", (Lane("x", 60), Lane("y", None)), "nothing after")])
    assert svg.count("<circle") == 1


def test_that_the_command_writes_only_what_has_changed(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    command, folder = ["pictures", "--diagrams", "--root", str(tmp_path)], tmp_path / DIAGRAMS
    assert main(command) == 0
    assert {path.name for path in folder.iterdir()} == DRAWN.keys()
    assert len(capsys.readouterr().out.splitlines()) == len(DRAWN)
    (folder / "page.svg").write_text("old")
    assert main(command) == 0
    assert capsys.readouterr().out.splitlines() == [str(folder / "page.svg")]


def test_that_a_folder_that_cannot_be_written_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "file").write_text("")
    assert main(["pictures", "--diagrams", "--root", str(tmp_path / "file")]) == 2
    assert "cannot be written" in capsys.readouterr().err
