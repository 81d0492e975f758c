"""``feeds enter`` as a command: a picture of a form, and words that name nobody."""

import argparse
from pathlib import Path

import pytest

from feeds.__main__ import main
from feeds.entered.command import size_of
from tests.helpers.form import unit_folder


def words(tmp_path: Path, *more: str) -> list[str]:
    folder = unit_folder(tmp_path / "config")
    return ["enter", "--config", str(folder), "--journal", str(tmp_path / "j"), "--size", "1366x768", *more]


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (("--bed", "B9"), "--bed B9: there is no such bed in this unit; allowed: B5, B6"),
        (("--by", "surgeon-3"), "--by surgeon-3: Surgeon 3 (surgeon) does not enter readings: the bed's own nurse"),
        (("--by", "nobody"), "--by nobody: nobody is not among the unit's people; allowed: nurse-5, nurse-6"),
    ],
)
def test_that_an_unknown_bed_or_person_is_refused_with_what_is_allowed(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], more: tuple[str, ...], told: str
) -> None:
    assert main(words(tmp_path, *more)) == 2
    assert told in capsys.readouterr().err


def test_that_a_picture_of_the_form_is_taken(tmp_path: Path, qapp: object) -> None:
    picture = tmp_path / "form.png"
    assert main(words(tmp_path, "--bed", "b5", "--by", "nurse-5", "--picture", str(picture))) == 0
    assert picture.read_bytes().startswith(b"\x89PNG")


def test_that_a_size_is_two_numbers() -> None:
    assert size_of("1920x1080") == (1920, 1080)
    assert size_of("10x10") == (1024, 700)
    with pytest.raises(argparse.ArgumentTypeError, match="is no size"):
        size_of("large")
