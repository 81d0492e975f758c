"""The unit's emergency cards as files: what is shipped is no guidance, and every fault has its file and line."""

import shutil
from pathlib import Path

import pytest

from monitor.cli.main import main
from monitor.settings import load_configuration, texts_in
from monitor.settings.card_files import cards_in, load_card
from shared.written.faults import SettingsError

CONFIG = Path(__file__).parents[2] / "config"
GOOD = """\
number = 6
title = "Invented"
version = 3
written = 2026-11-27
approved_by = "Invented lead, 2026-11-27"
steps = [
  "Call",
  "Look",
]
"""


def test_that_what_is_shipped_is_five_places_for_the_units_own_text_and_approved_by_nobody() -> None:
    found = cards_in(CONFIG)
    assert found.faults == ()
    assert list(found.cards) == [
        "pump_stop", "air_in_circuit", "decannulation", "oxygenator_failure", "console_swap",
    ]  # fmt: skip
    for name, card in found.cards.items():
        assert card.approved_by == ""
        assert card.approved_words == "approved by: nobody yet"
        assert all("unit text goes here" in step.lower() for step in card.steps)
        assert "no guidance" in (CONFIG / "cards" / f"{name}.toml").read_text()


@pytest.mark.parametrize(
    ("change", "name", "line", "says"),
    [
        (("number = 6", "number = 0"), "invented", 1, "number = 0"),
        (("number = 6", "number = 2"), "invented", 1, "cards/air_in_circuit.toml has this number too"),
        (('title = "Invented"\n', ""), "invented", 1, "title"),
        (("version = 3", 'version = "3"'), "invented", 3, "version"),
        (("written = 2026-11-27", 'written = "yesterday"'), "invented", 4, "written"),
        (("approved_by", "aproved_by"), "invented", 5, "approved_by"),
        (('"Look"', f'"{"x" * 121}"'), "invented", 8, "steps, item 2"),
        (('"Look"', '" "'), "invented", 8, "steps, item 2"),
        (('  "Call",\n  "Look",\n', ""), "invented", 6, "steps"),
        (("steps = [", "steps = ("), "invented", 6, "not TOML"),
        (("", ""), "Not-So", 1, "small letters"),
    ],
)
def test_that_each_fault_has_its_line_hides_that_card_alone_and_keeps_no_hub_from_starting(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], change: tuple[str, str], name: str, line: int, says: str
) -> None:
    folder = tmp_path / "config"
    shutil.copytree(CONFIG, folder)
    (folder / "cards" / f"{name}.toml").write_text(GOOD.replace(*change))
    found = cards_in(folder)
    assert len(found.cards) == 5
    assert [(fault.file, fault.line) for fault in found.faults] == [(f"cards/{name}.toml", line)]
    assert says in str(found.faults[0])
    assert load_configuration(folder) == load_configuration(CONFIG)
    assert main(["check", "--config", str(folder)]) == 1
    said = capsys.readouterr().out
    assert f"cards/{name}.toml:{line}: " in said
    assert "These cards are not shown; all else starts." in said
    assert main(["cards", "--config", str(folder), "--pdf", str(tmp_path / "none.pdf")]) == 2
    assert f"cards/{name}.toml:{line}: " in capsys.readouterr().err


def test_that_the_record_is_told_the_text_of_every_card_that_can_be_read(tmp_path: Path) -> None:
    folder = tmp_path / "config"
    shutil.copytree(CONFIG, folder)
    (folder / "cards" / "broken.toml").write_bytes(b"\xff\xfe")
    texts = texts_in(folder)
    assert "Pump stop" in texts["cards/pump_stop.toml"]
    assert "cards/broken.toml" not in texts
    shutil.rmtree(folder / "cards")
    with pytest.raises(SettingsError, match="this is not TOML"):
        load_card("=", "cards/other.toml")
    assert cards_in(folder).cards == {}
    assert main(["cards", "--config", str(folder), "--pdf", str(tmp_path / "none.pdf")]) == 2
