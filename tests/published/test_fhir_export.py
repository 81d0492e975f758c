"""FHIR that leaves the record, held to the published models of R4B and read back to exactly what was read.

HL7 FHIR R4B (4.3.0), as ``fhir.resources`` has it: Bundle (type collection; bdl-7: no fullUrl twice), Observation
(observation-status), Flag ("a warning or notification of some sort presented to the user", subject Location),
its extension flag-priority (PH, PM, PL), security labels (HTEST of ActReason: test health data).
"""

import json
import stat
import zipfile
from collections.abc import Sequence
from datetime import datetime, timedelta
from hashlib import sha256
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from fhir.resources.R4B.bundle import Bundle
from hypothesis import given, settings

from monitor.core.entries import EntryKind
from monitor.record import Record
from monitor.reports.exports import fhir_pages
from monitor.reports.exports.fhir_parts import BED, RUN, TEST_DATA, UCUM
from monitor.settings import load_configuration
from shared.cautions import ON_PAPER
from shared.messages import Observation
from shared.quantities import CATALOGUE, Quantity
from tests.helpers.courses import CONFIG
from tests.helpers.disk import fill, small_disk
from tests.helpers.exports import BY, WHY, export, kept, lived, observations

WHEN = "2027-01-15 08:00:00+00:00"
#: As config/entry.toml has them.
ITEM_WORDS = {one.words for one in load_configuration(CONFIG).rounds.item}
BY_LABEL = {spec.label: quantity for quantity, spec in CATALOGUE.items()}
Json = dict[str, Any]


@pytest.fixture(scope="module")
def record(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return lived(tmp_path_factory.mktemp("unit") / "unit.record")


@pytest.fixture(scope="module")
def packed(record: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    to = tmp_path_factory.mktemp("fhir") / "B1.zip"
    assert export(record, "--fhir", to) == 0
    return to


def pages(path: Path) -> list[Json]:
    """Give every page, each of which is a Bundle by the published models."""
    with zipfile.ZipFile(path) as file:
        assert file.testzip() is None
        texts = [file.read(name).decode() for name in file.namelist() if name.startswith("page-")]
    for text in texts:
        Bundle.model_validate_json(text)
    return [json.loads(text) for text in texts]


def resources(of: Sequence[Json], kind: str) -> list[Json]:
    found = [entry["resource"] for page in of for entry in page["entry"]]
    return [one for one in found if one["resourceType"] == kind]


def round_words(said: Observation) -> str:
    return f"Round: {(said.round or '').replace('_', ' ')}"


def ms_of(text: str) -> int:
    moment = datetime.fromisoformat(text)
    assert moment.utcoffset() is not None
    return (moment - datetime.fromtimestamp(0, moment.tzinfo)) // timedelta(milliseconds=1)


def check_looked(said: Sequence[Observation], found: Sequence[Json]) -> None:
    """What was looked at is coded; what nobody looked at has no value, and says why (data-absent-reason of R4B)."""
    got = []
    for one in found:
        value = one.get("valueCodeableConcept", {"coding": [{"code": "not_looked"}]})
        assert ("dataAbsentReason" in one) == ("valueCodeableConcept" not in one)
        [item] = one["code"]["coding"]
        notes = tuple(note["text"] for note in one["note"])
        got.append((item["code"], value["coding"][0]["code"], ms_of(one["effectiveDateTime"]), notes))
    assert sorted(got) == sorted(
        (item, looked.found.value, one.read_at, (round_words(one), *([looked.note] if looked.note else [])))
        for one in said
        for item, looked in (one.looked or {}).items()
    )
    assert {one["code"]["text"] for one in found} <= {"clots", "torch", "an item of before", *ITEM_WORDS}


@settings(max_examples=20)
@given(observations())
def test_that_every_reading_comes_back_exactly_and_none_is_added(said: list[Observation]) -> None:
    with TemporaryDirectory() as folder:
        record = kept(Path(folder) / "unit.record", said)
        to = Path(folder) / "B1.zip"
        assert export(record, "--fhir", to, begin=WHEN) == 0
        every = resources(pages(to), "Observation")
    found = [one for one in every if "valueQuantity" in one]
    check_looked(said, [one for one in every if one not in found])
    got = {
        (BY_LABEL[one["code"]["text"]], one["encounter"]["identifier"]["value"], ms_of(one["effectiveDateTime"])): (
            one["valueQuantity"]["value"]
        )
        for one in found
    }
    expected = {
        (quantity, f"=B1-{one.slot}", one.read_at): value
        for one in sorted(said, key=lambda one: (one.read_at, one.seq))
        for quantity, value in one.readings.items()
    }
    assert got == expected
    assert len(found) == sum(len(one.readings) for one in said)
    assert len({one["id"] for one in found}) == len(found)
    assert sum("performer" in one for one in found) == sum(len(one.readings) for one in said if one.by)
    assert sum("Estimated" in str(one.get("note")) for one in found) == sum(len(one.estimated) for one in said)
    assert sum("Doubtful" in str(one.get("note")) for one in found) == sum(len(one.doubtful) for one in said)
    entered = {one["issued"] for one in found if "performer" in one}
    assert {ms_of(text) for text in entered} == {one.entered_at for one in said if one.by and one.readings}


def test_that_units_are_ucum_and_codes_are_those_that_are_known_and_no_others(packed: Path) -> None:
    found = resources(pages(packed), "Observation")
    for one in found:
        spec = CATALOGUE[BY_LABEL[one["code"]["text"]]]
        assert (one["valueQuantity"]["system"], one["valueQuantity"]["code"]) == (UCUM, spec.ucum)
        coded = [(coding["system"], coding["code"]) for coding in one["code"].get("coding", ())]
        assert tuple(coded) == spec.codes
    speed = next(one for one in found if one["code"]["text"] == CATALOGUE[Quantity.PUMP_SPEED].label)
    assert "coding" not in speed["code"]


def test_that_there_is_a_bed_and_a_run_and_neither_patient_nor_name(record: Path, tmp_path: Path) -> None:
    assert export(record, "--fhir", tmp_path / "B5.zip", bed="B5") == 0
    found = pages(tmp_path / "B5.zip")
    text = json.dumps(found)
    for word in ("Patient", "nurse-", "Nurse ", "charge-", "perfusionist-", "4210"):
        assert word not in text
    for one in resources(found, "Observation"):
        assert one["subject"]["identifier"] == {"system": BED, "value": "B5"}
        assert one["encounter"]["identifier"]["system"] == RUN
        assert one["performer"] == [{"type": "PractitionerRole", "display": "bedside nurse"}]
        assert one["meta"] == {"tag": [one["meta"]["tag"][0]]}
        assert one["meta"]["tag"][0]["display"] == "HAND-ENTERED"


def test_that_a_corrected_set_is_amended_and_what_no_longer_counts_is_entered_in_error(
    record: Path, tmp_path: Path
) -> None:
    assert export(record, "--fhir", tmp_path / "B5.zip", bed="B5") == 0
    flow = CATALOGUE[Quantity.PUMP_FLOW].label
    flows = [one for one in resources(pages(tmp_path / "B5.zip"), "Observation") if one["code"]["text"] == flow]
    assert [(one["status"], one["valueQuantity"]["value"]) for one in flows] == [
        ("entered-in-error", 4.2),
        ("amended", 3.8),
        ("entered-in-error", 4.2),
    ]
    assert flows[1]["note"] == [{"text": "Version 2 of a set: counts, corrected, mistyped"}]
    assert flows[2]["note"] == [{"text": "Version 1 of a set: struck"}]


def test_that_what_is_simulated_is_marked_as_test_data_everywhere(packed: Path) -> None:
    for page in pages(packed):
        assert page["meta"]["security"] == [TEST_DATA]
        for entry in page["entry"]:
            assert entry["resource"]["meta"]["security"] == [TEST_DATA]
            assert entry["resource"]["meta"]["tag"][0]["display"] == "SIMULATED"


def test_that_an_alert_is_a_flag_of_the_bed_with_its_priority_and_its_time(packed: Path) -> None:
    flags = resources(pages(packed), "Flag")
    low = next(one for one in flags if one["code"]["text"].startswith("Flow 2.4"))
    assert low["extension"][0]["valueCodeableConcept"]["coding"][0]["code"] == "PH"
    assert low["status"] == "inactive"
    assert low["subject"]["identifier"]["value"] == "B1"
    assert ms_of(low["period"]["start"]) < ms_of(low["period"]["end"])


def test_that_the_words_of_every_export_travel_with_it(packed: Path) -> None:
    [words] = resources(pages(packed), "Communication")
    said = [payload["contentString"] for payload in words["payload"]]
    assert set(ON_PAPER) <= set(said)
    assert (words["sender"]["display"], words["reasonCode"]) == (BY, [{"text": WHY}])


def test_that_many_pages_lead_to_one_another(record: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(fhir_pages, "PAGE", 100)
    to = tmp_path / "B1.zip"
    assert export(record, "--fhir", to) == 0
    found = pages(to)
    assert len(found) > 3
    assert {len(page["entry"]) for page in found[:-1]} == {100}
    for number, page in enumerate(found, 1):
        links = {link["relation"]: link["url"] for link in page["link"]}
        expected = {"self": f"page-{number:04d}.json"}
        if number > 1:
            expected["previous"] = f"page-{number - 1:04d}.json"
        if number < len(found):
            expected["next"] = f"page-{number + 1:04d}.json"
        assert links == expected
    assert len(resources(found, "Observation")) == len({one["id"] for one in resources(found, "Observation")})


def test_that_the_file_is_for_its_owner_alone_and_in_the_log(record: Path, packed: Path) -> None:
    assert stat.S_IMODE(packed.stat().st_mode) == 0o600
    opened = Record.open(record)
    try:
        said = [entry.text or "" for entry in opened.entries("B1", 500) if entry.kind is EntryKind.TAKEN_OUT]
    finally:
        opened.close()
    digest = sha256(packed.read_bytes()).hexdigest()
    assert any(text.startswith("FHIR Bundles of B1") and digest in text for text in said)


def test_that_a_full_disk_is_said_and_no_half_file_stays(
    record: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with small_disk(tmp_path / "disk") as disk:
        ballast = fill(disk)
        assert export(record, "--fhir", disk / "B1.zip") == 2
        assert "No space left on device" in capsys.readouterr().err
        assert list(disk.iterdir()) == [ballast]
