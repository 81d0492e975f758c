"""A station's first start: six questions make a folder that `check` finds no fault in, or nothing at all."""

import argparse
import errno
import os
import pty
import re
import select
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import astuple
from pathlib import Path

import pytest

from monitor.cli import station
from monitor.cli.first_run.questions import PHONES, questions
from monitor.cli.first_run.writing import first_folder, is_missing
from monitor.cli.language import speak_of_the_machine
from monitor.cli.texts import template, written
from monitor.core.grades import Rung
from monitor.settings import load_configuration
from monitor.settings.examine import examine
from shared.endpoints import endpoints_at
from shared.errors import ConfigurationError
from shared.language.saying import SOURCE, speak
from shared.language.station import Asked, asked_in
from tests.helpers.pseudo import plain_words, pseudo, pseudo_language, speaking

CONFIG = Path(__file__).parents[2] / "config"
TYPED = (
    "Support unit North", "B1, B2, B7", "B7", "4200, 4201, -, 4420, +00 (0)11/47*2", "07:30, 19:30", "Etc/GMT-2",
)  # fmt: skip


def typing(*lines: str) -> Callable[[str], str]:
    left: Iterator[str] = iter(lines)

    def ask(_: str) -> str:
        try:
            return next(left)
        except StopIteration:
            raise EOFError from None

    return ask


def test_that_six_answers_make_a_unit_without_faults(tmp_path: Path) -> None:
    folder = tmp_path / "unit"
    first_folder(folder, CONFIG, typing(*TYPED, "y"), lambda _: None)
    found = examine(folder)
    assert (found.configuration is not None, found.faults, bool(found.entry_fields)) == (True, (), True)
    unit = load_configuration(folder).unit
    assert (unit.name, unit.phone, str(unit.zone)) == ("Support unit North", "4200", "Etc/GMT-2")
    assert [(bed.label, bed.entered_by_hand, bed.runs) for bed in unit.beds] == [
        ("B1", False, ()), ("B2", False, ()), ("B7", True, ()),
    ]  # fmt: skip
    assert unit.beds[2].nurse == "nurse-3"
    assert unit.roster.on(Rung.CHARGE, "B7") == "charge-1"
    assert unit.roster.on(Rung.PERFUSIONIST, "B7") is None, "nobody is called who has no number"
    assert {one.name: one.phone for one in unit.people}["surgeon-1"] == "+00 (0)11/47*2"
    assert [(shift.begins, shift.charge) for shift in unit.shifts] == [("07:30", "charge-1"), ("19:30", "charge-2")]
    assert sorted(path.name for path in tmp_path.iterdir()) == ["unit"]


def test_that_empty_lines_take_what_stands_in_brackets(tmp_path: Path) -> None:
    said: list[str] = []
    first_folder(tmp_path / "unit", CONFIG, typing(*[""] * 7), said.append)
    unit = load_configuration(tmp_path / "unit").unit
    assert [bed.label for bed in unit.beds] == [f"B{number}" for number in range(1, 9)]
    assert all(unit.roster.on(rung, "B1") is None for rung in Rung if rung is not Rung.BEDSIDE)
    assert sum(" of 6  " in line for line in said) == 6


@pytest.mark.parametrize(
    ("place", "wrong", "words"),
    [
        (0, "x" * 41, "at most 40 letters"),
        (1, "65", "65 beds: allowed 1 to 64"),
        (1, "0", "0 beds: allowed 1 to 64"),
        (1, "B1 B_2", "B_2: a label has at most 8 letters"),
        (1, "B1 B1", "B1 stands there twice"),
        (2, "B9", "B9 is none of the beds B1, B2"),
        (3, "1, 2", f"2 numbers: needed are {len(PHONES)}"),
        (3, "1, 2, 3, 4, ask Ann", "ask Ann: a number has digits"),
        (4, "07:00", "two times are needed"),
        (4, "7, 19", "7 is no time: write it as 07:00"),
        (4, "07:00 07:00", "begin at the same time"),
        (5, "Middle/Earth", "there is no time zone Middle/Earth"),
        (5, "../../etc", "there is no time zone"),
    ],
)
def test_that_a_wrong_answer_is_told_at_once(place: int, wrong: str, words: str) -> None:
    with pytest.raises(ValueError, match=words.replace("(", r"\(")):
        questions("UTC")[place].take(wrong, {"beds": ("B1", "B2")})


def test_that_a_wrong_answer_is_asked_for_again(tmp_path: Path) -> None:
    said: list[str] = []
    first_folder(tmp_path / "unit", CONFIG, typing("", "99", "2", *[""] * 5), said.append)
    assert len(load_configuration(tmp_path / "unit").unit.beds) == 2
    assert any("99 beds: allowed" in line for line in said)


@pytest.mark.parametrize("lines", [TYPED[:3], TYPED, (*TYPED, "n")])
def test_that_whoever_leaves_leaves_nothing(tmp_path: Path, lines: tuple[str, ...]) -> None:
    with pytest.raises(ConfigurationError, match="Nothing was written"):
        first_folder(tmp_path / "unit", CONFIG, typing(*lines), lambda _: None)
    assert not list(tmp_path.iterdir())


def test_that_a_place_that_cannot_be_written_is_named_and_left_as_it_was(tmp_path: Path) -> None:
    (tmp_path / "unit").mkdir()
    (tmp_path / "unit" / "notes.txt").write_text("ours")
    with pytest.raises(ConfigurationError, match=r"unit could not be written: .*Nothing was written"):
        first_folder(tmp_path / "unit", CONFIG, typing(*TYPED, ""), lambda _: None)
    assert [path.name for path in tmp_path.rglob("*")] == ["unit", "notes.txt"]
    assert not is_missing(tmp_path / "unit")


def test_that_a_start_without_a_terminal_says_what_to_do(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    parser = argparse.ArgumentParser()
    station.add_arguments(parser)
    with pytest.raises(ConfigurationError, match=r"no configuration in unit/. Start this at a terminal"):
        station.run(parser.parse_args([]))


#: Names of files and commands, keys and marks: alike in every language.
ALIKE = re.compile(r"\S*/\S*|\w+\.toml|`[^`]*`|\[.*?\]|Ctrl-C|UTC")


def test_that_questions_answers_and_refusals_are_in_the_language(tmp_path: Path) -> None:
    said: list[str] = []
    wrong = ("x" * 41, "99", "B_2", "B1 B1", "1, 2", "1, 2, 3, 4, ?", "7", "7, 19", "07:00 07:00", "Mööð")
    asked = typing(
        wrong[0], TYPED[0], *wrong[1:4], TYPED[1], "B9", pseudo("all"), *wrong[4:6], TYPED[3],
        *wrong[6:9], TYPED[4], wrong[9], TYPED[5], pseudo("yes"),
    )  # fmt: skip

    def ask(words: str) -> str:
        said.append(words)
        return asked(words)

    with speaking(pseudo_language()):
        first_folder(tmp_path / "unit", CONFIG, ask, said.append)
        with pytest.raises(ConfigurationError) as left:
            first_folder(tmp_path / "other", CONFIG, typing(), said.append)
        with pytest.raises(ConfigurationError) as full:
            first_folder(tmp_path / "unit", CONFIG, typing(*TYPED, ""), said.append)
    lines = [line.replace(str(tmp_path), "") for line in (*said, str(left.value), str(full.value))]
    lines = [line.replace(os.strerror(errno.ENOTEMPTY), "") for line in lines]
    assert {line: words for line in lines if (words := plain_words(ALIKE.sub("", line)))} == {}
    unit = load_configuration(tmp_path / "unit").unit
    assert [bed.entered_by_hand for bed in unit.beds] == [True] * 3
    assert unit.people[0].label == pseudo("Nurse {number}").format(number=1)
    assert not plain_words(" ".join([*(one.label for one in unit.people), *(shift.name for shift in unit.shifts)]))


@pytest.mark.parametrize(
    ("environment", "spoken", "question"),
    [
        ({"LANG": "de_CH.UTF-8"}, Asked("de", "de_CH"), "Wie heißt die Station?"),
        ({"LANG": "C.UTF-8", "LC_ALL": "de"}, Asked("de"), "Wie heißt die Station?"),
        ({"LC_ALL": "", "LC_MESSAGES": "de_DE@euro", "LANG": "C"}, Asked("de", "de_DE"), "Wie heißt die Station?"),
        ({"LC_ALL": "C", "LANG": "de_CH.UTF-8"}, Asked(), "What is the unit called?"),
        ({"LANG": "fr_FR.UTF-8"}, Asked(), "What is the unit called?"),
        ({"LANG": "en_GB.UTF-8"}, Asked(), "What is the unit called?"),
        ({}, Asked(), "What is the unit called?"),
    ],
)
def test_that_it_asks_in_the_language_of_the_machine_and_so_the_unit_has_it(
    environment: dict[str, str], spoken: Asked, question: str, tmp_path: Path
) -> None:
    """Which variable goes first: POSIX.1-2017, Base Definitions, 8.2."""
    shipped = tmp_path / "shipped"
    shutil.copytree(CONFIG, shipped)
    catalogue = template()
    message = catalogue.get("What is the unit called?")
    assert message is not None
    message.string = "Wie heißt die Station?"
    (shipped / "language" / "de.po").write_text(written(catalogue), "utf-8")
    said: list[str] = []
    try:
        asked = speak_of_the_machine(environment, shipped)
        first_folder(tmp_path / "unit", shipped, typing(*[""] * 7), said.append, asked)
    finally:
        speak(SOURCE)
    assert asked == spoken
    assert any(question in line for line in said)
    assert asked_in((tmp_path / "unit" / "unit.toml").read_text("utf-8")) == spoken
    assert (tmp_path / "unit" / "language" / "de.po").exists() == (spoken != Asked())
    assert examine(tmp_path / "unit").faults == ()


def test_that_the_usual_ports_are_given_to_no_passing_connection() -> None:
    """RFC 6335 section 6: user ports are 1024 to 49151; Linux, ip_local_port_range: 32768 and up are given out."""
    ports = {int(address.rpartition(":")[2]) for address in astuple(endpoints_at())}
    assert len(ports) == 4
    assert 1024 <= min(ports) <= max(ports) < 32768


@pytest.mark.slow
def test_that_a_first_start_at_a_terminal_ends_in_a_board(tmp_path: Path) -> None:
    """The command as a newcomer types it, in an empty folder, and a picture of what it opens on."""
    near, far = pty.openpty()
    root = str(Path(__file__).parents[2])
    command = [sys.executable, "-m", "monitor", "station", "--size", "1366x768", "--picture", "board.png"]
    process = subprocess.Popen(
        command, stdin=far, stdout=far, stderr=far, cwd=tmp_path,
        env=os.environ | {"PYTHONPATH": root, "QT_QPA_PLATFORM": "offscreen"},
    )  # fmt: skip
    os.close(far)
    os.write(near, "\n".join([*TYPED, "y", ""]).encode())
    shown, ends = b"", time.monotonic() + 60
    while process.poll() is None and time.monotonic() < ends:
        if select.select([near], [], [], 0.2)[0]:
            try:
                shown += os.read(near, 4096)
            except OSError:
                break
    process.wait(10)
    os.close(near)
    assert process.returncode == 0, shown.decode()
    assert (tmp_path / "board.png").stat().st_size > 10_000
    assert "unit/ is written" in shown.decode()
