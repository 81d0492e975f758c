"""What the commands that read a record say of one whose file is damaged: which, and what to do."""

import random
from pathlib import Path

import pytest

from monitor.cli.main import main
from tests.helpers.written_unit import BEGIN, WrittenUnit

_PAGE = 4096
#: The record is put in place of each star.
_ASKS = (
    "report * --hours 1 --pdf {to}",
    "load * --hours 1",
    "export * --bed B1 --from 2026-01-01T00:05 --csv {to} --by charge --why audit",
    "bundle * {to} --bed B1 --at 2026-01-01T00:10 --by charge --why audit",
    "sheet * --pdf {to}",
)


@pytest.fixture(scope="module")
def damaged(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record whose pages after the fourth are noise, but for its last."""
    path = tmp_path_factory.mktemp("damaged") / "unit.record"
    unit = WrittenUnit(path)
    unit.read(20)
    unit.close()
    assert unit.now > BEGIN
    noise = random.Random(7)
    pages = path.stat().st_size // _PAGE
    with path.open("r+b") as file:
        for page in range(4, pages - 1):
            file.seek(page * _PAGE)
            file.write(noise.randbytes(_PAGE))
    return path


@pytest.mark.parametrize("asked", _ASKS)
def test_that_of_a_damaged_record_everybody_says_which_and_what_to_do(
    damaged: Path, tmp_path: Path, asked: str, capsys: pytest.CaptureFixture[str]
) -> None:
    to = tmp_path / "out"
    status = main([str(damaged) if word == "*" else word.format(to=to) for word in asked.split()])
    said = capsys.readouterr().err
    assert status == 2
    assert f"the record {damaged} cannot be read: it is damaged (" in said
    assert f"verify {damaged}" in said
    assert "copy its whole folder away" in said
    assert "see whether a backup is whole (verify BACKUP)" in said
    assert "restore BACKUP INTO" in said
    assert "Traceback" not in said
    assert not to.exists()


def test_that_verify_does_not_send_for_itself(damaged: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["verify", str(damaged)]) != 0
    out, err = capsys.readouterr()
    assert "see whether a backup is whole (verify BACKUP)" in out + err
    assert f"verify {damaged}" not in out + err
