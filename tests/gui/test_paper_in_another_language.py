"""Paper in the language of its unit: sheets, cautions and handover cards; what machines read stays as it is."""

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

import monitor.reports.in_language
from monitor.core.drill import Drill
from monitor.core.entries import Entry, EntryKind
from monitor.core.grades import Priority
from monitor.core.unit import Configuration
from monitor.core.wire import Cards
from monitor.desk.heard_views import in_our_words
from monitor.record.reading import read_only
from monitor.reports.downtime.moment import LastMoment, last_moment
from monitor.reports.downtime.sheet import write_sheet
from monitor.reports.drill.facts import Turn, done_of
from monitor.reports.drill.paper import write_done
from monitor.reports.drill.words import all_lines
from monitor.reports.emergency.pages import write_cards
from monitor.reports.in_language import on_paper, paper_of
from monitor.reports.shift.cards import cards_of
from monitor.reports.shift.gather import Gathered, gather
from monitor.reports.shift.sheet import write_report
from monitor.settings import texts_in
from monitor.settings.card_files import cards_in
from shared.cautions import NO_DEVICE, ON_PAPER
from shared.instant import HOUR, MINUTE, SECOND
from shared.language.hearing import heard
from tests.helpers.hub import CONFIG
from tests.helpers.paper import pages
from tests.helpers.pseudo import plain_words, pseudo_language, speaking
from tests.helpers.written_night import write_night
from tests.helpers.written_unit import BEGIN

POINT = re.compile(r"(?<![\d.])\d+\.\d+(?![\d.])")


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> tuple[Gathered, LastMoment]:
    unit = write_night(tmp_path_factory.mktemp("words") / "unit.record", seed=3, steps=24)
    with read_only(unit.path) as record:
        return gather(record.hours(BEGIN + HOUR, unit.now), "Night", unit.now), last_moment(record)


@pytest.fixture
def another_language(monkeypatch: pytest.MonkeyPatch) -> None:
    """What a configuration asks for is the language of tests, made of the whole catalogue."""
    monkeypatch.setattr(monitor.reports.in_language, "language_as_asked", lambda read: (pseudo_language(), ()))


def own_of(configuration: Configuration) -> re.Pattern[str]:
    """Give what fits the words of a unit: its names, and those of its rules and items."""
    rules = configuration.limits.rules
    own = [name for one in configuration.unit.people for name in (one.label, one.name)]
    own += [words for rule in rules for words in re.split(r" ?\{.*?\}", rule.title) if words]
    own += [*configuration.pumps, *(item.id for item in configuration.equipment.items), configuration.unit.name]
    return re.compile("|".join(re.escape(one) for one in sorted(own, key=len, reverse=True)), re.IGNORECASE)


def held(to: Path, configuration: Configuration, *kept: str) -> None:
    """Hold pages to the language: no word but names and what is ``kept``, one decimal mark, all cautions."""
    own = own_of(configuration)
    for text in pages(to):
        for words in kept:
            text = text.replace(words, "")
        assert plain_words(own.sub("", text)) == []
        assert POINT.findall(text) == []
        for caution in ON_PAPER:
            assert heard(caution, language=pseudo_language()) in text


@pytest.mark.usefixtures("qapp", "another_language")
def test_that_the_report_of_a_shift_and_its_cards_are_in_the_language(
    night: tuple[Gathered, LastMoment], tmp_path: Path
) -> None:
    to, found = tmp_path / "report.pdf", night[0]
    for unit in (True, False):
        assert write_report(to, found, unit=unit, notes=("ring 3.5",)) == len(pages(to))
        assert any("ring 3.5" in text for text in pages(to)), "what somebody typed stays"
        held(to, found.standing.configuration, "ring 3.5", "Night")


@pytest.mark.usefixtures("qapp", "another_language")
def test_that_the_downtime_sheet_is_in_the_language_and_telephones_are_as_they_are(
    night: tuple[Gathered, LastMoment], tmp_path: Path
) -> None:
    to, found = tmp_path / "sheet.pdf", night[1]
    person = found.unit.people[0].model_copy(update={"phone": "30.77"})
    found = replace(found, unit=found.unit.model_copy(update={"people": (person, *found.unit.people[1:])}))
    assert write_sheet(to, found, found.at + 90 * MINUTE) == len(pages(to))
    assert f"{person.label} 30.77" in " ".join(pages(to))
    held(to, found.configuration, "30.77")


@pytest.mark.usefixtures("qapp", "another_language")
def test_that_emergency_cards_say_their_steps_as_the_unit_wrote_them(tmp_path: Path) -> None:
    to, cards = tmp_path / "cards.pdf", cards_in(CONFIG).cards.values()
    write_cards(to, "Unit", (*cards,), texts_in(CONFIG))
    for text, card in zip(pages(to), cards, strict=True):
        assert all(step.strip() in text for step in card.steps)
        assert heard(NO_DEVICE, language=pseudo_language()) in text
        rest = text
        for words in (card.title, *(step.strip() for step in card.steps), "Unit"):
            rest = rest.replace(words, "")
        assert plain_words(rest) == []


@pytest.mark.usefixtures("qapp", "another_language")
def test_that_what_was_done_in_a_drill_is_in_the_language_on_paper_and_at_the_desk(
    night: tuple[Gathered, LastMoment], tmp_path: Path
) -> None:
    configuration = night[0].standing.configuration
    alert: dict[str, Any] = {"bed": "B1", "slot": 1, "alert": 1, "episode": 1, "priority": Priority.HIGH}
    said: dict[str, Any] = {"bed": "B1", "person": "charge-2"}
    log = (
        Entry(at=BEGIN, kind=EntryKind.RAISED, rule="flow_low", text="Flow 2.2, limit 2.5", **alert),
        Entry(at=BEGIN + SECOND, kind=EntryKind.CALLED, person="charge-2", rung=2, **alert),
        Entry(at=BEGIN + 2 * SECOND, kind=EntryKind.ORDER, text="Order: Flow 4.2 L/min", **said),
    )
    states = enumerate(("aside", "running"))
    turns = tuple(Turn(at=BEGIN + n * SECOND, state=one, why="B3") for n, one in states)
    drill = Drill(title="Night", begun_by=("Nurse 2",), beside="")
    done = done_of(drill, log, turns, lambda name: "Charge 2" if name else "nobody", BEGIN, BEGIN + MINUTE)
    write_done(tmp_path / "done.pdf", done, configuration.unit.zone, {})
    held(tmp_path / "done.pdf", configuration, "Night", "TEST")
    written = [*all_lines(done, configuration.unit.zone)]
    with speaking(pseudo_language()):
        told = [heard(line) for line in written]
    own = own_of(configuration)
    assert [line for line in told if plain_words(own.sub("", line).replace("Night", "").replace("TEST", ""))] == []


def test_that_the_figures_of_cards_are_in_one_form_and_a_desk_says_them_in_its_language(
    night: tuple[Gathered, LastMoment],
) -> None:
    figures, own = cards_of(night[0]), own_of(night[0].standing.configuration)
    assert "since" in figures.model_dump_json()
    with speaking(pseudo_language()):
        said = in_our_words(Cards(request="1", figures=figures)).figures
    lines = [line for bed in said.beds for line in (*bed.changes, *bed.open, *bed.alerts)]
    labels = [row.label for bed in said.beds for row in bed.rows]
    assert lines
    assert [one for one in (*lines, *labels, *said.open) if plain_words(own.sub("", one))] == []


def test_that_paper_speaks_what_the_files_of_its_configuration_say(tmp_path: Path) -> None:
    (tmp_path / "language").mkdir()
    for name, text in texts_in(CONFIG).items():
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(text)
    unit = tmp_path / "unit.toml"
    unit.write_text(f'language = "de"\n{unit.read_text()}')
    assert "language/de.po" not in texts_in(tmp_path)
    assert paper_says(texts_in(tmp_path)) == "page 3: Flow 4,2", "without its catalogue the source's words"
    (tmp_path / "language" / "de.po").write_text(
        '#: monitor/reports/paper.py\nmsgid "page {number}"\nmsgstr "Seite {number}"\n', "utf-8"
    )
    assert paper_says(texts_in(tmp_path)) == "Seite 3: Flow 4,2"
    assert paper_says({}) == "page 3: Flow 4.2"


def paper_says(files: dict[str, str]) -> str:
    with paper_of(files):
        return on_paper("page 3: Flow 4.2")
