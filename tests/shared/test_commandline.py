"""Command lines from a table: what is imported when, and how a command ends."""

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from feeds.__main__ import main as feeds_main
from monitor.cli.main import main as monitor_main
from shared.commandline import INTERRUPTED, REFUSED, Command, outcome, parse
from shared.errors import ConfigurationError, OurError, PeerError, RecordError, WeirkeeperError
from shared.version import VERSION

ROOT = Path(__file__).resolve().parents[2]
MODULE = """
def add_arguments(parser):
    parser.add_argument("file")

def run(args):
    return len(args.file)
"""


@pytest.fixture
def commands(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> tuple[Command, ...]:
    (tmp_path / "weirs_open.py").write_text(MODULE, encoding="utf-8")
    (tmp_path / "weirs_shut.py").write_text('raise ImportError("not to be imported")', encoding="utf-8")
    monkeypatch.syspath_prepend(str(tmp_path))
    return (Command("open", "open it", "weirs_open:run"), Command("shut", "shut it", "weirs_shut:run"))


def test_that_only_the_called_command_is_imported(commands: tuple[Command, ...]) -> None:
    args = parse("weirs", "", commands, ["open", "four"])
    assert args.run(args) == 4
    with pytest.raises(ImportError, match="not to be imported"):
        parse("weirs", "", commands, ["shut"])


def test_that_help_lists_every_command_and_imports_none(
    commands: tuple[Command, ...], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        parse("weirs", "", commands, ["--help"])
    assert ended.value.code == 0
    told = capsys.readouterr().out
    assert all(command.help in told for command in commands)


@pytest.mark.parametrize("words", [[], ["unheard"], ["open"], ["open", "a", "b"]])
def test_that_a_line_without_sense_ends_with_2(commands: tuple[Command, ...], words: list[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        parse("weirs", "", commands, words)
    assert ended.value.code == REFUSED


@pytest.mark.parametrize("kind", [WeirkeeperError, PeerError, ConfigurationError, RecordError])
def test_that_errors_raised_on_purpose_end_as_one_plain_message(kind: type[WeirkeeperError]) -> None:
    def work() -> int:
        raise kind("limits.toml, line 3: 900 is too much")

    assert outcome(work) == (REFUSED, "limits.toml, line 3: 900 is too much")


def test_that_a_defect_of_ours_tells_where_it_happened() -> None:
    def work() -> int:
        raise OurError("two holders of one bed")

    status, message = outcome(work)
    assert status == REFUSED
    assert message.startswith("two holders of one bed\n")
    assert "in work" in message


def test_that_ctrl_c_ends_quietly() -> None:
    def work() -> int:
        raise KeyboardInterrupt

    assert outcome(work) == (INTERRUPTED, "")


def test_that_other_exceptions_pass() -> None:
    with pytest.raises(ZeroDivisionError):
        outcome(lambda: 1 // 0)


@pytest.mark.parametrize("main", [monitor_main, feeds_main])
def test_that_both_programs_say_the_version(
    main: Callable[[list[str]], int], capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit):
        main(["--version"])
    assert capsys.readouterr().out == f"Weirkeeper {VERSION}\n"


def test_that_a_refused_command_tells_it_on_stderr_and_ends_with_2(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    missing = tmp_path / "none.toml"
    assert feeds_main(["simulate", str(missing)]) == REFUSED
    told = capsys.readouterr()
    assert told.out == ""
    assert told.err.startswith("weirkeeper feeds: ")
    assert str(missing) in told.err


@pytest.mark.parametrize("module", ["monitor.cli.main", "feeds.__main__"])
def test_that_the_table_itself_brings_in_neither_qt_nor_sockets(module: str) -> None:
    look = f"import sys, {module}; print(sorted({{'PySide6', 'zmq', 'numpy', 'sqlite3'}} & set(sys.modules)))"
    done = subprocess.run([sys.executable, "-c", look], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout == "[]\n"
