"""The hash chain: every edited, deleted, inserted or moved entry is found. SHA-256 is FIPS 180-4, from hashlib."""

import hashlib
import json
import sqlite3
from pathlib import Path

import pytest

from monitor.record import Batch, Record
from monitor.record.chain import START, canonical
from tests.helpers.inputs import entry, observed
from tests.helpers.records import tamper

TEXTS = ("one", "two – with a dash", "three", "four", "five")


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "unit.record"
    record = Record.open(path)
    record.append(Batch([observed(n, entry(text)) for n, text in enumerate(TEXTS, 1)]))
    assert record.verify() is None
    record.close()
    return path


def verdict(path: Path) -> int | None:
    record = Record.open(path)
    broken = record.verify()
    record.close()
    return None if broken is None else broken.number


@pytest.mark.parametrize(
    ("statement", "number"),
    [
        ("UPDATE entries SET body = replace(body, 'three', 'tree') WHERE number = 3", 3),
        ("UPDATE entries SET body = body || ' ' WHERE number = 5", 5),
        ("UPDATE entries SET digest = zeroblob(32) WHERE number = 1", 1),
        ("UPDATE entries SET bed = 'B2' WHERE number = 2", 2),
        ("UPDATE entries SET bed = NULL WHERE number = 4", 4),
        ("UPDATE entries SET ordinal = 9 WHERE number = 3", 3),
        ("UPDATE entries SET ordinal = 0 WHERE number = 1", 1),
        ("DELETE FROM entries WHERE number = 2", 2),
        ("DELETE FROM entries WHERE number = 1", 1),
    ],
)
def test_that_a_changed_or_missing_entry_is_named(path: Path, statement: str, number: int) -> None:
    tamper(path, statement)
    assert verdict(path) == number


def test_that_two_entries_that_changed_places_are_found(path: Path) -> None:
    tamper(
        path,
        "UPDATE entries SET number = 99 WHERE number = 2",
        "UPDATE entries SET number = 2 WHERE number = 3",
        "UPDATE entries SET number = 3 WHERE number = 99",
    )
    assert verdict(path) == 2


def test_that_the_file_itself_refuses_to_change_or_delete_an_entry(path: Path) -> None:
    db = sqlite3.connect(path)
    for statement in ("DELETE FROM entries", "UPDATE entries SET body = ''"):
        with pytest.raises(sqlite3.IntegrityError, match="an entry is never"):
            db.execute(statement)
    db.close()


def test_that_digests_are_those_that_the_description_gives(path: Path) -> None:
    db = sqlite3.connect(path)
    digest = START
    rows = db.execute("SELECT number, ordinal, bed, body, digest FROM entries ORDER BY number")
    for number, ordinal, bed, body, found in rows:
        header = f"{number} {ordinal} {len(bed.encode())}\n"
        digest = hashlib.sha256(digest + header.encode() + bed.encode() + body.encode()).digest()
        assert found == digest
    db.close()


def test_that_a_body_is_canonical_json_and_gives_the_entry_back(path: Path) -> None:
    said = entry("two – with a dash")
    body = canonical(said)
    assert body == '{"at":1800000000000,"bed":"B1","kind":"note","text":"two – with a dash"}'
    assert json.loads(body)["text"] == said.text


def test_that_an_edited_byte_of_a_body_never_passes(path: Path) -> None:
    """Every byte of one entry, each changed by itself."""
    db = sqlite3.connect(path)
    body: str = db.execute("SELECT body FROM entries WHERE number = 3").fetchone()[0]
    db.close()
    tamper(path)
    record = Record.open(path)
    db = sqlite3.connect(path, isolation_level=None)
    for place in range(len(body)):
        other = "x" if body[place] != "x" else "y"
        db.execute("UPDATE entries SET body = ? WHERE number = 3", (body[:place] + other + body[place + 1 :],))
        broken = record.verify()
        assert broken is not None, f"byte {place} was changed and nobody saw it"
        assert broken.number == 3
    db.close()
    record.close()
