"""The pictures of README and manual show what is painted now, and every one of them stands where it is shown."""

import json
import re
from pathlib import Path

import pytest
from PySide6.QtGui import QImage
from PySide6.QtPdf import QPdfDocument
from pytestqt.qtbot import QtBot

from monitor.cli.main import main
from monitor.cli.manual.document import MANUAL, manual_text
from monitor.cli.manual.marks_sheet import MEANS
from monitor.cli.manual.marks_sheet import SIZE as MARKS_SIZE
from monitor.cli.manual.picturing import taken
from monitor.cli.manual.scenes import DAY, MARKS, NIGHT
from monitor.cli.paths import CONFIG, ROOT
from monitor.cli.pictures import DIGEST, WORDS, digest_of
from monitor.desk.key_map import KEYS
from shared.cautions import SECOND_LOOK
from shared.look.marks import Mark

SIZE_OF = {step.picture: step.size for step in (*DAY, *NIGHT) if step.picture}
SIZE_OF |= dict.fromkeys(MARKS.values(), MARKS_SIZE)
AGAIN = "take them again: ./weirkeeper pictures"
#: Taken by hand: what stands on them is not held to what is painted now.
BY_HAND = {f"monitor/desk/pictures/{name}.png" for name in ("review_units_day", "drill_day")}
SIZES_KB = 300


def kept() -> dict[str, list[str]]:
    words: dict[str, list[str]] = json.loads((ROOT / WORDS).read_text(encoding="utf-8"))
    return words


@pytest.mark.slow
def test_that_every_picture_shows_what_is_painted_now(qtbot: QtBot) -> None:
    now = {one.name: one.words for one in taken(CONFIG)}
    old = kept()
    assert now.keys() == old.keys(), AGAIN
    differ = {
        name: sorted(set(words) ^ set(old[name])) or "another order"
        for name, words in now.items()
        if words != old[name]
    }
    assert differ == {}, AGAIN


def test_that_every_picture_is_of_the_words_beside_it_and_of_the_size_that_was_asked_for() -> None:
    words = kept()
    assert list(words) == list(SIZE_OF), AGAIN
    for name, size in SIZE_OF.items():
        image = QImage(str(ROOT / name))
        assert image.text(DIGEST) == digest_of(words[name]), f"{name}: {AGAIN}"
        assert (image.width(), image.height()) == size
        assert (ROOT / name).stat().st_size < SIZES_KB * 1000


def test_that_no_picture_is_shown_nowhere_and_none_that_is_shown_is_missing() -> None:
    texts = {path: (ROOT / path).read_text(encoding="utf-8") for path in ("README.md", "monitor/manual/MANUAL.md")}
    shown = {
        (Path(path).parent / link).as_posix()
        for path, text in texts.items()
        for link in re.findall(r"!\[[^\]]*\]\(([^)]+\.png)\)", text)
    }
    shown = {Path(ROOT, one).resolve().relative_to(ROOT.resolve()).as_posix() for one in shown}
    stand = {path.relative_to(ROOT).as_posix() for path in (ROOT / "monitor").rglob("pictures/*.png")}
    assert {one for one in shown if one.startswith("monitor/")} == stand
    assert stand - BY_HAND == set(SIZE_OF)
    assert list(MEANS) == list(Mark)


def test_that_the_table_of_keys_is_that_of_the_desk() -> None:
    assert (ROOT / MANUAL).read_text(encoding="utf-8") == manual_text(), AGAIN
    assert all(f"| {key} | {words} |" in manual_text() for key, words in KEYS)


def test_that_the_manual_is_printed_with_its_pictures(qtbot: QtBot, tmp_path: Path) -> None:
    out = tmp_path / "manual.pdf"
    assert main(["manual", "--pdf", str(out)]) == 0
    assert out.read_bytes().startswith(b"%PDF")
    assert out.stat().st_size > 1_000_000, "no pictures"
    paper = QPdfDocument()
    paper.load(str(out))
    assert paper.pageCount() > 10
    for page in range(paper.pageCount()):
        said = paper.getAllText(page).text()
        assert SECOND_LOOK in said
        assert f"{page + 1} of {paper.pageCount()}" in said
    paper.close()
    assert main(["manual", "--pdf", str(tmp_path / "none" / "x.pdf")]) == 2
