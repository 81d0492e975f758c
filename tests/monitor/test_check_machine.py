"""What `check` says of the machine beside the configuration: sound, room, keys, the hub. Its status follows none.

The hub is a real one on its sockets, the disk a small one of its own, the key files are real.
"""

import logging
import shutil
import socket
import threading
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

from monitor.cli import check
from monitor.cli.checking.found import Found
from monitor.cli.checking.hub_answer import hub_found
from monitor.cli.checking.room import day_of, room_found
from monitor.cli.checking.secret_files import keys_found
from monitor.cli.checking.sound_report import sound_found, sound_report
from monitor.cli.main import main
from monitor.core.endpoints import Endpoints
from monitor.core.unit import Unit
from monitor.settings import load_configuration
from tests.helpers.disk import fill, make_read_only, small_disk
from tests.helpers.hub import CONFIG, Rig, bed, free_endpoints
from tests.helpers.keyed import KeyedUnit
from tests.helpers.logged import expect_logged

MB, GB = 1_000_000, 1_000_000_000


def the_unit(endpoints: Endpoints | None = None, **fields: object) -> Unit:
    unit = load_configuration(CONFIG).unit
    return unit.model_copy(update={"endpoints": endpoints or free_endpoints(), **fields})


def asked(rig: Rig, unit: Unit, folder: Path) -> Found:
    """Ask on a thread, as another process would, while the hub takes its turns."""
    found: list[Found] = []
    asking = threading.Thread(target=lambda: found.append(hub_found(unit, folder)), name="asking")
    asking.start()
    rig.until(lambda: not asking.is_alive())
    asking.join()
    return found[0]


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        yield rig


# -- the hub ------------------------------------------------------------------------------------------------------


def test_that_a_hub_that_answers_is_told_with_its_address(rig: Rig, tmp_path: Path) -> None:
    found = asked(rig, the_unit(rig.endpoints), tmp_path)
    assert found == Found("Hub", (f"{rig.endpoints.commands}: it answers",))


def test_that_without_a_hub_it_is_said_how_one_is_started(tmp_path: Path) -> None:
    unit = the_unit()
    found = hub_found(unit, tmp_path)
    assert found.lines[0].startswith(f"{unit.endpoints.commands}: nothing answers there.")
    assert "weirkeeper station" in found.lines[0]
    assert not found.is_wrong, "a unit that is being set up has none yet"


def test_that_the_hub_of_another_unit_is_named(rig: Rig, tmp_path: Path) -> None:
    found = asked(rig, the_unit(rig.endpoints, name="Another one"), tmp_path)
    assert found.is_wrong
    assert f"ANOTHER UNIT answers there, {rig.configuration.unit.name}." in found.lines[0]
    assert "[endpoints]" in found.lines[0]


def test_that_what_answers_and_is_no_hub_is_said_to_be_silent(tmp_path: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as silent:
        address = f"tcp://127.0.0.1:{silent.getsockname()[1]}"
        found = hub_found(the_unit(free_endpoints().model_copy(update={"commands": address})), tmp_path, 0.3)
    assert found.is_wrong
    assert found.lines[0] == f"{address}: no answer. Look at the address ([endpoints]) and the network."


def test_that_a_hub_on_a_full_disk_is_said_not_to_record(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    with small_disk(tmp_path / "disk", "4m") as disk, Rig(disk) as rig:
        feed = rig.feed("ward", bed("B1"))
        ballast = fill(disk)

        def read() -> None:
            feed.read("B1", rig.hub.clock.now())
            rig.times.ms += 1000

        rig.until(lambda: rig.hub.keeper.not_recorded is not None, read)
        found = asked(rig, the_unit(rig.endpoints), tmp_path)
        assert found.is_wrong
        assert "it answers. NOT RECORDED since " in found.lines[0]
        assert "make room on its disk" in found.lines[0]
        ballast.unlink()
        rig.until(lambda: rig.hub.keeper.not_recorded is None, lambda: rig.turn(0.5))
    expect_logged(caplog, "NOT RECORDED", "takes writes again")


def test_that_each_key_that_is_refused_says_which_and_what_to_do(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    keyed = KeyedUnit(tmp_path)
    with caplog.at_level(logging.CRITICAL, logger="monitor.hub"), Rig(tmp_path, keys=tmp_path) as rig:
        unit = the_unit(rig.endpoints)
        said = asked(rig, unit, tmp_path).lines[0]
        assert "not asked, for no desk of this machine has a key" in said
        assert f"weirkeeper keys --config {tmp_path} station station --roles all" in said
        keyed.station("station")
        rig.turn(1.1)
        assert asked(rig, unit, tmp_path).lines == (f"{rig.endpoints.commands}: it answers",)
        keyed.revoke("station")
        rig.turn(1.1)
        refused = asked(rig, unit, tmp_path)
        assert refused.is_wrong
        assert "the hub refuses this key. keys/station.key_secret is not on its list" in refused.lines[0]
        clear = tmp_path / "clear"
        clear.mkdir()
        unlike = asked(rig, unit, clear)
        assert "one side alone has keys. The hub was started before keys were made" in unlike.lines[0]


# -- room ---------------------------------------------------------------------------------------------------------


def test_that_a_day_takes_what_was_measured() -> None:
    """By the rates of DEVELOPERS.md: 207 and 718 bytes a reading at 1 Hz, 1 640 entries of 193 bytes a bed."""
    unit = the_unit()
    runs = [max(1, len(one.runs)) for one in unit.beds if not one.entered_by_hand]
    assert sum(runs) == 8
    assert day_of(unit) == (8 * 86_400 * 207 + 8 * 1_640 * 193, 8 * 86_400 * 718)


@pytest.mark.parametrize(("free", "wrong"), [(2 * GB, False), (1 * GB, True), (0, True)])
def test_that_little_room_is_said_against_what_a_day_needs(tmp_path: Path, free: int, wrong: bool) -> None:
    found = room_found(the_unit(), tmp_path / "run" / "record.db", lambda _: free)
    assert found.is_wrong is wrong
    record, journals = found.lines
    assert f"record in {tmp_path}/run: " in record
    assert "a day takes 146 MB" in record
    assert "a day without the hub takes 496 MB" in journals
    assert ("LITTLE ROOM: on a full disk nothing more is recorded. Make room there" in record) is wrong
    assert ("LITTLE ROOM: on a full disk a feed keeps in memory" in journals) is wrong


def test_that_the_room_is_that_of_the_disk_the_record_is_on(tmp_path: Path) -> None:
    with small_disk(tmp_path / "disk", "1m") as disk:
        free = shutil.disk_usage(disk).free / MB
        found = room_found(the_unit(), disk / "run" / "record.db")
        assert found.is_wrong
        assert f"{free:.0f} MB free" in found.lines[0]
        make_read_only(disk)
        if not _may_write(disk):
            assert "NO RIGHT to write there" in room_found(the_unit(), disk / "record.db", lambda _: GB).lines[0]


def _may_write(folder: Path) -> bool:
    try:
        (folder / "probe").touch()
    except OSError:
        return False
    return True


# -- keys ---------------------------------------------------------------------------------------------------------


def test_that_a_secret_key_that_others_may_read_is_named_with_what_to_do(tmp_path: Path) -> None:
    keyed = KeyedUnit(tmp_path)
    keyed.station("desk-1")
    here = the_unit().endpoints
    assert keys_found(tmp_path, here).lines == ("2 secret in keys, each its owner's alone",)
    (tmp_path / "keys" / "desk-1.key_secret").chmod(0o640)
    found = keys_found(tmp_path, here)
    assert found.is_wrong
    assert found.lines[0].startswith("keys/desk-1.key_secret: others than its owner may read it (mode 0640): chmod")
    (tmp_path / "keys" / "hub.key_secret").unlink()
    assert any(
        "keys/hub.key_secret IS MISSING: no hub starts." in line for line in keys_found(tmp_path, here).lines
    )


def test_that_an_address_beyond_this_machine_without_keys_is_said_to_start_no_hub(tmp_path: Path) -> None:
    assert not keys_found(tmp_path, free_endpoints()).is_wrong
    away = Endpoints(commands="tcp://10.0.0.5:17314")
    found = keys_found(tmp_path, away)
    assert found.is_wrong
    assert found.lines[0].startswith("NONE, and tcp://10.0.0.5:17314 leaves this machine: no hub starts.")


# -- sound --------------------------------------------------------------------------------------------------------


def test_that_a_machine_without_sound_says_what_to_do() -> None:
    found = sound_found(())
    assert found.is_wrong
    assert found.lines[0].startswith("NO DEVICE on this machine")
    assert "Plug in a loudspeaker" in found.lines[0]
    assert sound_found(("Built in",)) == Found(
        "Sound", ("Built in. Only ears tell whether it is heard: a desk asks when it opens.",)
    )
    assert sound_found(None).is_wrong


def test_that_this_machine_answers_which_devices_it_has() -> None:
    assert sound_report() is not None


# -- all of it ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("fault", ["", "limits.toml"])
def test_that_what_is_found_on_the_machine_changes_no_status(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, fault: str
) -> None:
    folder = Path(shutil.copytree(CONFIG, tmp_path / "config"))
    silent: Callable[[], tuple[str, ...]] = tuple
    monkeypatch.setattr(check, "sound_report", silent)
    unit = folder / "unit.toml"
    unit.write_text(unit.read_text().replace("1731", "1739"))
    if fault:
        (folder / fault).write_text("[")
    status = main(["check", "--config", str(folder), "--record", str(tmp_path / "run" / "record.db")])
    told = capsys.readouterr().out
    assert status == (1 if fault else 0)
    assert ("On this machine, LOOK AT: Sound" in told) is not bool(fault)
    if not fault:
        assert told.index("Cover ") < told.index("On this machine")
        for word in ("Screen  ", "Font    ", "Sound   ", "Room    ", "Keys    ", "Hub     "):
            assert f"\n{word}" in told
        assert told.endswith("The bedside console is the alarm.\n")
