"""``monitor keys``: pairs and the list of keys; every wrong word is refused before anything is made."""

import argparse
import shutil
from pathlib import Path

import pytest

from monitor.cli.desk_keys import form_options, keys_given, take_from_folder
from monitor.cli.main import main
from monitor.cli.station import add_arguments, reached_from_here
from monitor.core.endpoints import Endpoints
from monitor.settings import texts_in
from monitor.settings.key_files import load_pair
from monitor.settings.key_names import KEYS
from monitor.settings.keys_file import FeedKey, KeysFile, load_keys_file
from shared.keys import fingerprint
from tests.helpers.hub import CONFIG


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copytree(CONFIG, tmp_path / "config")
    return tmp_path / "config"


def keys(folder: Path, *words: str) -> int:
    return main(["keys", "--config", str(folder), *words])


def listed(folder: Path) -> KeysFile:
    found = load_keys_file(folder, ["B1", "B2"])
    assert found is not None
    return found


def test_that_keys_are_made_listed_rotated_and_revoked(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert keys(folder, "hub") == 0
    assert keys(folder, "feed", "ward", "--beds", "B1,B2") == 0
    assert keys(folder, "feed", "entered", "--beds", "all", "--by-hand") == 0
    assert keys(folder, "station", "desk-1", "--roles", "charge_nurse,viewer") == 0
    first = listed(folder).standing("ward")
    assert isinstance(first, FeedKey)
    assert (first.beds, first.by_hand, first.speaks_for("B3")) == (("B1", "B2"), False, False)
    assert load_pair(folder / "keys" / "ward.key_secret")[0].decode() == first.public
    modes = {path.name: path.stat().st_mode & 0o777 for path in (folder / "keys").iterdir()}
    assert len(modes) == 8
    assert set(modes.values()) == {0o600}
    assert (folder / "keys").stat().st_mode & 0o777 == 0o700
    assert KEYS not in texts_in(folder)
    assert keys(folder, "rotate", "ward", "--overlap", "2") == 0
    old, new = (row for row in listed(folder).feeds if row.name == "ward")
    assert (old.public, new.revoked, new.beds) == (first.public, None, first.beds)
    assert old.revoked is not None
    assert (old.revoked - new.since).total_seconds() == pytest.approx(7200, abs=2)
    capsys.readouterr()
    assert keys(folder, "revoke", "ward") == 0
    told = capsys.readouterr().out
    assert old.fingerprint in told
    assert new.fingerprint in told
    assert all(row.revoked is not None for row in listed(folder).feeds if row.name == "ward"), "both ended"
    assert keys(folder, "list") == 0
    lines = capsys.readouterr().out.splitlines()
    assert [line.split()[:2] for line in lines] == [
        ["hub", "hub"], ["feed", "ward"], ["feed", "entered"], ["feed", "ward"], ["station", "desk-1"],
    ]  # fmt: skip
    assert "all beds, by hand" in lines[2]
    assert "charge_nurse, viewer" in lines[4]
    assert fingerprint(load_pair(folder / "keys" / "hub.key_secret")[0].decode()) in lines[0]
    assert ["revoked from" in line for line in lines] == [False, True, False, True, False]
    assert main(["check", "--config", str(folder)]) == 0


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("feed", "x", "--beds", "B99"), "there is no bed B99; allowed: B1,"),
        (("station", "x", "--roles", "boss"), "boss is no role; allowed: bedside_nurse,"),
        (("feed", "hub", "--beds", "all"), "and not hub"),
        (("feed", "a/b", "--beds", "all"), "a name is 1 to 40"),
        (("feed", "ward", "--beds", "all"), "ward has a key: rotate it, or revoke it first"),
        (("hub",), "the hub has a key"),
        (("revoke", "nobody"), "no key of nobody is in force"),
        (("rotate", "ward", "--overlap", "-1"), "allowed 0 to 8784 h"),
    ],
)
def test_that_what_is_wrong_is_refused_and_makes_nothing(
    folder: Path, words: tuple[str, ...], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    keys(folder, "hub")
    keys(folder, "feed", "ward", "--beds", "all")
    before = sorted((path, path.read_bytes()) for path in folder.rglob("*") if path.is_file())
    assert keys(folder, *words) == 2
    assert said in capsys.readouterr().err
    assert sorted((path, path.read_bytes()) for path in folder.rglob("*") if path.is_file()) == before


@pytest.mark.parametrize(
    ("find", "put", "said"),
    [
        ('beds = ["B1"]', 'beds = ["B77"]', 'keys.toml:8: beds = ["B77"]: there is no bed B77 in this unit'),
        ('name = "ward"', 'name = "desk-1"', "a feed and a station have this name"),
        ('name = "desk-2"', 'name = "desk-1"', "another key of this name stands unrevoked"),
        ('roles = ["viewer"]', 'roles = ["boss"]', "allowed: one of bedside_nurse"),
        ("since = ", "sinse = ", "since"),
        ('public = "', 'public = "short', "40 characters of Z85"),
    ],
)
def test_that_every_fault_of_the_list_is_told_with_its_line(
    folder: Path, find: str, put: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    for words in ("hub", "feed ward --beds B1", "station desk-1 --roles viewer", "station desk-2 --roles viewer"):
        assert keys(folder, *words.split()) == 0
    path = folder / KEYS
    path.write_text(path.read_text().replace(find, put, 1))
    capsys.readouterr()
    assert main(["check", "--config", str(folder)]) == 1
    out = capsys.readouterr().out
    assert said in out
    assert out.startswith("keys.toml:")


def test_that_a_list_that_others_may_write_is_a_fault(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    keys(folder, "hub")
    (folder / KEYS).chmod(0o620)
    assert main(["check", "--config", str(folder)]) == 1
    assert "others may write it (mode 0620)" in capsys.readouterr().out


def test_that_a_desk_beside_its_hub_finds_its_keys_in_the_folder_or_is_told_what_to_do(folder: Path) -> None:
    parser = argparse.ArgumentParser()
    add_arguments(parser)
    args = parser.parse_args(["--config", str(folder)])
    take_from_folder(args)
    assert keys_given(args) is None, "a unit without keys"
    keys(folder, "hub")
    with pytest.raises(Exception, match="station station --roles all, or give --key"):
        take_from_folder(args)
    keys(folder, "station", "station", "--roles", "all")
    keys(folder, "feed", "entered", "--beds", "all", "--by-hand")
    args = parser.parse_args(["--config", str(folder)])
    take_from_folder(args)
    given = keys_given(args)
    assert given is not None
    assert given.own_public.decode() == listed(folder).stations[0].public
    assert b"secret" not in repr(given).encode()
    assert form_options(args)[-2:] == ["--feed", "entered"]
    (folder / "keys" / "station.key_secret").chmod(0o644)
    with pytest.raises(Exception, match="others than its owner may read it"):
        keys_given(args)


def test_that_a_hub_on_every_interface_is_reached_on_loopback_by_its_own_desk() -> None:
    found = reached_from_here(Endpoints(publish="tcp://0.0.0.0:1", commands="tcp://*:2", link="tcp://192.0.2.1:3"))
    assert (found.publish, found.commands, found.link) == (
        "tcp://127.0.0.1:1", "tcp://127.0.0.1:2", "tcp://192.0.2.1:3",
    )  # fmt: skip
