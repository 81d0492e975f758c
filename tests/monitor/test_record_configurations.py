"""The record says by which configuration it was judged, and keeps a state every hour."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from monitor.core.entries import EntryKind
from monitor.record import Batch, Checkpoint, Configured, Record, checkpoints, configurations
from monitor.settings import SettingsError, configuration_of, load_configuration, texts_in
from shared.instant import HOUR, MINUTE
from tests.helpers.courses import CONFIG
from tests.helpers.hub import Rig
from tests.helpers.inputs import AT, entry, observed

FILES = {"unit.toml": "name = 'Ward ä'", "limits.toml": ""}
OTHER = FILES | {"limits.toml": "# changed"}
ON_THE_HOUR = AT // HOUR * HOUR


def told(rig: Rig) -> list[str]:
    texts = [one.text or "" for one in rig.record.entries(None, 100) if one.kind is EntryKind.NOTE]
    return [text for text in texts[::-1] if "another configuration" in text]


def test_that_the_texts_of_a_configuration_give_it_again() -> None:
    texts = texts_in(CONFIG)
    assert {"unit.toml", "limits.toml", "ladder.toml", "patterns.toml"} <= texts.keys()
    assert sum(name.startswith("pumps/") for name in texts) == len(load_configuration(CONFIG).pumps) > 0
    assert configuration_of(texts) == load_configuration(CONFIG)


def test_that_a_missing_file_and_a_fault_in_one_are_told_by_name() -> None:
    texts = texts_in(CONFIG)
    with pytest.raises(SettingsError, match=r"ladder\.toml.*there is no such file"):
        configuration_of({name: text for name, text in texts.items() if name != "ladder.toml"})
    with pytest.raises(SettingsError, match=r"limits\.toml"):
        configuration_of(texts | {"limits.toml": "rule = 3"})
    assert configuration_of({n: t for n, t in texts.items() if n != "patterns.toml"}).patterns.pattern == ()


def test_that_a_hub_writes_its_configuration_down_once_and_anew_when_it_is_another(tmp_path: Path) -> None:
    with Rig(tmp_path) as rig:
        assert told(rig) == []
        rig.down()
        for files in (FILES, FILES, OTHER):
            rig.files = files
            rig.up()
            found = rig.record.configured()
            assert found is not None
            assert found.files == files
            rig.down()
        rig.up()
        first, second = told(rig)
        assert rig.record.verify() is None
    assert first.endswith(f"{Configured(0, FILES).digest}: limits.toml, unit.toml")
    assert Configured(0, OTHER).digest in second


def test_that_the_digest_is_of_names_and_texts_and_of_nothing_else() -> None:
    """SHA-256 of canonical JSON: the same whatever the order, and for ever."""
    turned = dict(reversed(FILES.items()))
    assert Configured(5, turned).digest == Configured(0, FILES).digest
    assert Configured(0, {}).digest == "44136fa355b3678a1146ad16f7e8649e94fb4fc21fe77e8310c060f61caaff8a"  # of "{}"
    assert Configured(0, OTHER).digest != Configured(0, FILES).digest


def test_that_a_configuration_holds_from_the_input_after_it(tmp_path: Path) -> None:
    record = Record.open(tmp_path / "unit.record")
    assert record.configured() is None
    record.append(Batch([observed(1), observed(2)]))
    record.append(Batch([observed(3, entry("after"))], configured=Configured(AT, FILES)))
    record.append(Batch([], configured=Configured(AT + 1, OTHER)))
    db = record._db
    assert configurations.in_force(db, 1) is None
    assert configurations.in_force(db, 2) == Configured(AT, FILES)
    assert configurations.in_force(db) == Configured(AT + 1, OTHER)
    assert configurations.since(db, 2) == {3: Configured(AT + 1, OTHER)}
    record.close()


def test_that_what_was_in_force_is_never_changed(tmp_path: Path) -> None:
    record = Record.open(tmp_path / "unit.record")
    record.append(Batch([], configured=Configured(AT, FILES)))
    record.close()
    with closing(sqlite3.connect(tmp_path / "unit.record")) as db:
        for statement in ("UPDATE configurations SET files = '{}'", "DELETE FROM configurations"):
            with pytest.raises(sqlite3.IntegrityError, match="in force is never"):
                db.execute(statement)


def test_that_the_first_state_of_every_hour_is_kept(tmp_path: Path) -> None:
    record = Record.open(tmp_path / "unit.record")
    for n, minutes in enumerate((10, 20, 59, 60, 61, 185), 1):
        at = ON_THE_HOUR + minutes * MINUTE
        record.append(Batch([observed(n)], checkpoint=Checkpoint(at, b"state %d" % n * 50, b"")))
    db = record._db
    assert [row[0] for row in db.execute("SELECT ordinal FROM hours ORDER BY 1")] == [1, 4, 6]
    assert [one.ordinal for one in record.standing()] == [6, 5]
    for minutes, found in ((9, None), (10, 1), (59, 1), (60, 4), (184, 4), (185, 6), (999, 6)):
        kept = checkpoints.before(db, ON_THE_HOUR + minutes * MINUTE)
        assert (None if kept is None else kept[0]) == found
    assert checkpoints.before(db, ON_THE_HOUR + HOUR) == (4, b"state 4" * 50)
    record.close()
