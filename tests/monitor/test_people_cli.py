"""``monitor people``: roles in unit.toml, secrets in people.toml; nothing else of either file changes."""

import io
import shutil
from pathlib import Path

import pytest

from monitor.cli.main import main
from monitor.core.grades import Role
from monitor.settings import load_configuration, texts_in
from monitor.settings.people_file import PEOPLE, load_people
from monitor.settings.secret_hash import fits
from tests.helpers.hub import CONFIG

pytest.importorskip("argon2", reason="argon2-cffi of requirements.lock is not installed: ./weirkeeper setup")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(CONFIG, tmp_path / "config")
    return tmp_path / "config"


def people(folder: Path, *words: str) -> int:
    return main(["people", "--config", str(folder), *words])


def set_secret(folder: Path, name: str, secret: str, monkeypatch: pytest.MonkeyPatch) -> int:
    monkeypatch.setattr("sys.stdin", io.StringIO(f"{secret}\n"))
    return people(folder, "secret", name)


def test_that_a_secret_is_kept_as_a_hash_for_the_owner_alone_and_in_no_record(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert set_secret(folder, "charge-2", "2580", monkeypatch) == 0
    assert "from now on secrets are asked for" in capsys.readouterr().out
    path = folder / PEOPLE
    assert path.stat().st_mode & 0o777 == 0o600
    text = path.read_text(encoding="utf-8")
    assert "2580" not in text
    file = load_people(folder)
    assert file is not None
    known = file.known("charge-2")
    assert known is not None
    assert fits("2580", known.secret)
    assert not fits("2581", known.secret)
    assert PEOPLE not in texts_in(folder)
    assert set_secret(folder, "charge-2", "2580", monkeypatch) == 0
    assert path.read_text(encoding="utf-8") != text, "another salt"
    assert sorted(p.name for p in folder.iterdir() if p.name.startswith(".")) == []


def test_that_settings_written_by_hand_stay(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    set_secret(folder, "charge-2", "2580", monkeypatch)
    path = folder / PEOPLE
    text = path.read_text(encoding="utf-8").replace("without_secret = true", "without_secret = false")
    path.write_text(text.replace("idle_min = 15", "idle_min = 7.5"), encoding="utf-8")
    set_secret(folder, "nurse-1", "1470", monkeypatch)
    assert people(folder, "revoke", "nurse-2") == 0
    file = load_people(folder)
    assert file is not None
    assert (file.sign_in.without_secret, file.sign_in.idle_min) == (False, 7.5)
    assert [(one.name, bool(one.secret), one.revoked) for one in file.people] == [
        ("charge-2", True, False),
        ("nurse-1", True, False),
        ("nurse-2", False, True),
    ]


def test_that_a_list_says_who_has_a_secret_and_what_the_rest_may_do(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert people(folder, "list") == 0
    assert "There is no people.toml: no secret is asked for" in capsys.readouterr().out
    set_secret(folder, "charge-2", "2580", monkeypatch)
    people(folder, "revoke", "nurse-2")
    path = folder / PEOPLE
    path.write_text(path.read_text(encoding="utf-8").replace('"nurse-2"', '"gone"'), encoding="utf-8")
    people(folder, "revoke", "nurse-3")
    capsys.readouterr()
    assert people(folder, "list") == 0
    lines = {line.split()[0]: line for line in capsys.readouterr().out.splitlines()}
    assert lines["charge-2"].endswith("has a secret")
    assert lines["nurse-1"].endswith("no secret")
    assert lines["nurse-3"].endswith("revoked")
    assert lines["gone:"] == "gone: in people.toml, and not in unit.toml"
    assert "anybody can act under them" in lines["Secrets"]


def test_that_a_person_is_added_at_the_end_and_every_other_line_stays(folder: Path) -> None:
    before = (folder / "unit.toml").read_text(encoding="utf-8")
    words = ("add", "nurse-9", "--label", "Nurse 9", "--role", "bedside_nurse", "--also", "charge_nurse")
    assert people(folder, *words, "--elsewhere", "--phone", "4299") == 0
    after = (folder / "unit.toml").read_text(encoding="utf-8")
    assert after.startswith(before.rstrip("\n"))
    person = load_configuration(folder).unit.people[-1]
    assert (person.name, person.label, person.phone, person.in_unit) == ("nurse-9", "Nurse 9", "4299", False)
    assert person.roles == {Role.BEDSIDE_NURSE, Role.CHARGE_NURSE}
    assert people(folder, *words) == 2
    assert (folder / "unit.toml").read_text(encoding="utf-8") == after


def test_that_a_role_changes_in_its_line_alone(folder: Path) -> None:
    before = (folder / "unit.toml").read_text(encoding="utf-8").splitlines()
    assert people(folder, "role", "nurse-5", "charge_nurse", "--also", "bedside_nurse") == 0
    after = (folder / "unit.toml").read_text(encoding="utf-8").splitlines()
    new = [line for line in after if line not in before]
    assert new == ['also = ["bedside_nurse"]']
    assert len(after) == len(before) + 1
    assert roles(folder) == {Role.CHARGE_NURSE, Role.BEDSIDE_NURSE}
    assert people(folder, "role", "nurse-5", "charge_nurse") == 0
    assert roles(folder) == {Role.CHARGE_NURSE}
    assert people(folder, "role", "nurse-5", "charge_nurse", "--also", "administrator") == 0
    assert people(folder, "role", "nurse-5", "bedside_nurse", "--also", "charge_nurse") == 0
    assert roles(folder) == {Role.CHARGE_NURSE, Role.BEDSIDE_NURSE}


def test_that_who_stands_on_the_roster_gets_no_role_that_cannot_stand_there(folder: Path) -> None:
    before = texts_in(folder)
    assert people(folder, "role", "nurse-5", "viewer") == 2
    assert texts_in(folder) == before


def roles(folder: Path) -> frozenset[Role]:
    """The roles of nurse-5."""
    return next(one for one in load_configuration(folder).unit.people if one.name == "nurse-5").roles


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("secret", "stranger"), "stranger is not among the people of unit.toml: nurse-1"),
        (("revoke", "stranger"), "stranger is not among the people"),
        (("role", "stranger", "viewer"), "stranger is not among the people"),
        (("secret", "charge-2"), "a secret is 4 to 12 digits"),
        (("add", "nurse 9", "--label", "Nurse 9", "--role", "viewer"), "a roster name is"),
        (("add", "nurse-9", "--label", " ", "--role", "viewer"), "--label ' ': allowed"),
        (("add", "nurse-9", "--label", "x" * 25, "--role", "viewer"), "allowed up to 24"),
        (("add", "nurse-9", "--label", "Nine", "--role", "viewer", "--phone", "1\n2"), "--phone"),
    ],
)
def test_that_what_cannot_be_is_said_and_changes_nothing(
    folder: Path,
    words: tuple[str, ...],
    said: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr("sys.stdin", io.StringIO("12a4\n"))
    before = texts_in(folder)
    assert people(folder, *words) == 2
    assert said in capsys.readouterr().err
    assert texts_in(folder) == before
    assert not (folder / PEOPLE).exists()


def test_that_a_person_in_one_line_is_changed_by_hand(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    path = folder / "unit.toml"
    kept = path.read_text(encoding="utf-8")
    one = 'name = "nurse-1"\nlabel = "Nurse 1"\nrole = "bedside_nurse"'
    assert one in kept
    path.write_text(
        kept.replace(one, 'label = "Nurse 1"\nname = "nurse-1"\n"role" = "bedside_nurse"'), encoding="utf-8"
    )
    assert people(folder, "role", "nurse-1", "viewer") == 2
    assert "change it by hand" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ('[[person]]\nname = "charge-2"\nsecret = "2580"\n', "people.toml:3"),
        ('[[person]]\nname = "charge-2"\n[[person]]\nname = "charge-2"\n', "people.toml:4"),
        ("[sign_in]\nidle_min = 0\n", "people.toml:2"),
        ("[sign_in]\nidle = 5\n", "people.toml:2"),
        ("[sign_in\n", "people.toml:1"),
    ],
)
def test_that_a_fault_names_its_line_and_check_finds_it(
    folder: Path, text: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    (folder / PEOPLE).write_text(text, encoding="utf-8")
    (folder / PEOPLE).chmod(0o600)
    assert people(folder, "list") == 2
    assert said in capsys.readouterr().err
    assert main(["check", "--config", str(folder)]) == 1
    assert said in capsys.readouterr().out


def test_that_a_folder_that_cannot_be_written_is_said(
    folder: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def full(*_: object, **__: object) -> tuple[int, str]:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("tempfile.mkstemp", full)
    assert set_secret(folder, "charge-2", "2580", monkeypatch) == 2
    assert "nothing was changed: No space left on device" in capsys.readouterr().err
    assert not (folder / PEOPLE).exists()
