"""No word on a screen without its explanation: what the pictures show is held to the manual and its glossary."""

import json
import re
import tomllib

from monitor.cli.manual.document import manual_text
from monitor.cli.manual.marks_sheet import MEANS
from monitor.cli.paths import CONFIG, ROOT
from monitor.cli.pictures import WORDS
from monitor.desk.reach import Reach
from monitor.desk.sound.face import SoundState
from monitor.desk.tile.freshness import Fresh
from shared.look.need import NEED_WORD

_WORD = re.compile(r"[A-Za-z₂Δ]{2,}")
#: Written by the unit, or made up for the demonstration: no words of the program.
_TEXTS_OF_THE_UNIT = ("patterns.toml", "equipment.toml", "cards", "unit.toml", "limits.toml")


def words_of(text: str) -> set[str]:
    return {one.lower() for one in _WORD.findall(text)}


#: Words that everybody knows, a month, a unit of measure, and three words of the demonstration's own notes.
EVERYDAY = words_of(
    """apart asked begins carried causes compared dashed decide demonstration differ empty episodes event facts fan
    few fits floods hospital industry longer loud mmol norm note nov plain present process proof raise
    recommendation ring secret show signed state steps tell timers units upon we workshop yes"""
)


def glossary() -> str:
    text = manual_text()
    return text[text.index("## 12.") : text.index("## 13.")]


def of_the_unit() -> set[str]:
    files = [
        one for name in _TEXTS_OF_THE_UNIT for one in (CONFIG / name, *(CONFIG / name).glob("*")) if one.is_file()
    ]
    assert len(files) > 5
    tables = [tomllib.loads(file.read_text(encoding="utf-8")) for file in files]
    return {word for table in tables for text in texts_in(table) for word in words_of(text)}


def texts_in(value: object) -> list[str]:
    if isinstance(value, dict):
        return [text for one in value.values() for text in texts_in(one)]
    if isinstance(value, list):
        return [text for one in value for text in texts_in(one)]
    return [value] if isinstance(value, str) else []


def test_that_every_word_on_a_picture_is_in_the_manual_or_the_unit_s_own() -> None:
    painted: dict[str, list[str]] = json.loads((ROOT / WORDS).read_text(encoding="utf-8"))
    known = words_of(manual_text()) | of_the_unit() | EVERYDAY
    unknown = {word for texts in painted.values() for text in texts for word in words_of(text)} - known
    assert sorted(unknown) == []


def test_that_every_word_of_state_has_a_line_in_the_glossary() -> None:
    states = [*NEED_WORD.values(), *(one.value for one in (*Fresh, *SoundState)), *MEANS.values()]
    first = [line.split("|")[1] for line in glossary().splitlines() if line.startswith("| ")]
    terms = " ".join(first).lower()
    assert [one for one in states if one.split(":")[0].split(",")[0].lower() not in terms] == []
    assert "nonsense" not in terms
    assert [one.value for one in Reach if one.value not in manual_text()] == []
