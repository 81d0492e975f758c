"""Where the program's own font is missing: the foot of the desk says so, and `check` says which and what to do."""

from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from monitor.cli import check
from monitor.cli.main import main
from monitor.cli.paths import CONFIG
from monitor.desk.paint import fonts
from tests.helpers.desk import Desk, read_out
from tests.helpers.views import filled, tile


def test_that_a_desk_without_its_font_says_so_at_its_foot(qtbot: QtBot, monkeypatch: pytest.MonkeyPatch) -> None:
    desk = Desk(qtbot, filled([tile("B1")]))
    assert "Font missing" not in read_out(desk.window.footer).description
    monkeypatch.setattr(fonts, "family", lambda: fonts.FALLBACK)
    assert "Font missing: words may be cut" in read_out(desk.window.footer).description


def test_that_check_names_the_font_and_what_to_do_without_it(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    assert main(["check", "--config", str(CONFIG)]) == 0
    assert "Font    B612, the program's own" in capsys.readouterr().out
    monkeypatch.setattr(check, "own_font", lambda: None)
    assert main(["check", "--config", str(CONFIG)]) == 0
    told = capsys.readouterr().out
    assert "Font    MISSING: no B612 in shared/look/fonts" in told
    assert "Copy the program anew" in told
    monkeypatch.setattr(fonts, "files", lambda _: tmp_path)
    assert fonts.own_font() is None
