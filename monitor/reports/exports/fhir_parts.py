"""Resources of FHIR R4B (HL7, 4.3.0) for what leaves the record, each checked by the models of ``fhir.resources``.

A reading is an Observation, and so is what a person looked at in a round. Its subject is a place, the bed, and the
run is its encounter, both by identifier alone; there is no Patient, and there are no names. An alert is a Flag: of
the resources that R4B has for warnings, DetectedIssue is about clinical actions of a Patient and can have no other
subject; a Flag "is a warning or notification of some sort presented to the user", and its subject may be a
Location. Its grade is HL7's own extension flag-priority. What every export says of itself travels as a
Communication.
"""

import json
from collections.abc import Mapping
from datetime import tzinfo
from types import MappingProxyType
from typing import Any
from uuid import UUID, uuid5

from fhir.resources.R4B.communication import Communication
from fhir.resources.R4B.flag import Flag
from fhir.resources.R4B.observation import Observation

from monitor.core.roles.unchecked import UNCHECKED_WORDS
from monitor.record.editions import SetStanding
from monitor.reports.exports.about import is_test
from monitor.reports.exports.alerts import Alerted
from monitor.reports.exports.taking import ORIGIN_WORDS, Row, written
from shared.messages import Found, Looked, Origin
from shared.quantities import CATALOGUE, Quantity
from shared.support import SUPPORT_LABEL, WITH_OXYGENATOR, label_for

Json = dict[str, Any]

UCUM = "http://unitsofmeasure.org"
#: HL7's own label for what is of nobody (code system ActReason, of FHIR's security labels).
TEST_DATA = {
    "system": "http://terminology.hl7.org/CodeSystem/v3-ActReason", "code": "HTEST", "display": "test health data",
}  # fmt: skip
PRIORITY = "http://hl7.org/fhir/StructureDefinition/flag-priority"
PRIORITY_CODES = "http://hl7.org/fhir/flag-priority-code"
_PRIORITY = {"high": ("PH", "High priority"), "medium": ("PM", "Medium priority"), "low": ("PL", "Low priority")}
#: Systems of our identifiers and tags, drawn once at random. Labels are a unit's own: whoever gets them from
#: several units keeps them apart.
_OURS = UUID("6f1c2c0e-5b0f-4c55-9f0e-3d6a6b9e8a41")
BED, RUN, ALERT, ORIGIN, ITEM, FOUND = (
    f"urn:uuid:{uuid5(_OURS, name)}" for name in ("bed", "run", "alert", "origin", "item", "found")
)
#: What R4B says in place of a value of something that nobody did.
NOT_PERFORMED = {
    "system": "http://terminology.hl7.org/CodeSystem/data-absent-reason", "code": "not-performed",
    "display": "Not Performed",
}  # fmt: skip
_STATUS = {
    SetStanding.COUNTS: "final",
    SetStanding.CORRECTED: "amended",
    SetStanding.REPLACED: "entered-in-error",
    SetStanding.STRUCK: "entered-in-error",
    SetStanding.REFUSED: "entered-in-error",
}

_SUPPORT = {label: support for support, label in SUPPORT_LABEL.items()}


class Readings:
    """Makes Observations. What is alike in many is made and checked once; times, number and id are put in."""

    def __init__(self, zone: tzinfo, items: Mapping[str, str] = MappingProxyType({})) -> None:
        self._zone, self._items = zone, items
        self._alike: dict[tuple[Any, ...], Json] = {}

    def of(self, row: Row) -> list[Json]:
        """Give an Observation for each reading of an observation, and for each item that was looked at."""
        said = row.kept.observation
        times = {
            "effectiveDateTime": written(said.read_at, self._zone),
            "issued": written(row.kept.at if said.entered_at is None else said.entered_at, self._zone),
        }
        found = []
        for quantity, value in said.readings.items():
            alike = self._of_quantity(row, quantity)
            own = {"id": str(uuid5(_OURS, f"{said.epoch}/{said.seq}/{quantity.value}"))}
            found.append(alike | own | times | {"valueQuantity": alike["valueQuantity"] | {"value": value}})
        for item, looked in (said.looked or {}).items():
            own = {"id": str(uuid5(_OURS, f"{said.epoch}/{said.seq}/looked/{item}"))}
            words = self._items.get(item, item.replace("_", " "))
            found.append(_checked(Observation, _looked_at(row, item, words, looked) | own | times))
        return found

    def _of_quantity(self, row: Row, quantity: Quantity) -> Json:
        said = row.kept.observation
        notes = tuple(_notes(row, quantity))
        key = (quantity, said.bed, row.run, row.origin, row.role, row.standing, said.unchecked, notes)
        if key not in self._alike:
            self._alike[key] = _checked(Observation, _observation(row, quantity, notes))
        return self._alike[key]


def _observation(row: Row, quantity: Quantity, notes: tuple[str, ...]) -> Json:
    spec = CATALOGUE[quantity]
    made = _of_row(row, {"text": _label(row, quantity)}, notes)
    made["valueQuantity"] = {"value": 0, "unit": spec.unit or "1", "system": UCUM, "code": spec.ucum}
    made["effectiveDateTime"] = "2026-01-01T00:00:00Z"
    if spec.codes:
        made["code"]["coding"] = [{"system": system, "code": code} for system, code in spec.codes]
    return made


def _label(row: Row, quantity: Quantity) -> str:
    """Give the words of a quantity at its run: nothing is named after a part that its type has not."""
    support = _SUPPORT.get(row.run.support) if row.run is not None else None
    if support is None:
        return CATALOGUE[quantity].label
    return label_for(quantity, support, support in WITH_OXYGENATOR)


def _looked_at(row: Row, item: str, words: str, looked: Looked) -> Json:
    """Give the answer to an item: what nobody looked at has no value, and says why."""
    said = row.kept.observation
    notes = [f"Round: {said.round.value.replace('_', ' ')}"] if said.round else []
    notes += [looked.note] if looked.note is not None else []
    code = {"text": words, "coding": [{"system": ITEM, "code": item}]}
    made = _of_row(row, code, (*notes, *_of_edition(row)))
    if looked.found is Found.NOT_LOOKED:
        return made | {"dataAbsentReason": {"coding": [NOT_PERFORMED]}}
    found = looked.found.value
    value = {"coding": [{"system": FOUND, "code": found}], "text": found.replace("_", " ")}
    return made | {"valueCodeableConcept": value}


def _of_row(row: Row, code: Json, notes: tuple[str, ...]) -> Json:
    made: Json = {
        "resourceType": "Observation",
        "meta": meta_of(row.origin),
        "status": _status(row),
        "code": code,
        "subject": bed_of(row.kept.observation.bed),
    }
    if row.run is not None:
        made["encounter"] = {"type": "Encounter", "identifier": {"system": RUN, "value": row.run.name}}
    if row.role is not None:
        made["performer"] = [{"type": "PractitionerRole", "display": row.role}]
    if notes:
        made["note"] = [{"text": text} for text in notes]
    return made


def _status(row: Row) -> str:
    """Give the status of an observation: what nobody has verified is preliminary."""
    counts = row.standing in (SetStanding.COUNTS, SetStanding.CORRECTED)
    return "preliminary" if counts and row.kept.observation.unchecked else _STATUS[row.standing]


def _notes(row: Row, quantity: Quantity) -> list[str]:
    said = row.kept.observation
    notes = ["Estimated: the console worked it out"] if quantity in said.estimated else []
    if quantity in said.doubtful:
        notes.append("Doubtful: the console does not trust it")
    if said.conditions:
        notes.append(f"The console says: {', '.join(sorted(said.conditions)).replace('_', ' ')}")
    return [*notes, *_of_edition(row)]


def _of_edition(row: Row) -> list[str]:
    said = row.kept.observation
    notes = [f"Unchecked: {UNCHECKED_WORDS[said.unchecked]}"] if said.unchecked else []
    edition = said.edition
    if edition is None or row.standing is SetStanding.COUNTS:
        return notes
    why = f", {edition.why.value.replace('_', ' ')}" if edition.why else ""
    return [*notes, f"Version {edition.version} of a set: {row.standing.value}{why}"]


def flag_of(one: Alerted, zone: tzinfo, origin: Origin | None) -> Json:
    """Give the Flag of an alert."""
    became = one.became
    code, display = _PRIORITY[became.priority]
    period = {"start": written(one.raised_at, zone)}
    if became.ended_at is not None:
        period["end"] = written(became.ended_at, zone)
    identity = f"{became.bed or ''}/{one.number}/{one.raised_at}"
    made: Json = {
        "resourceType": "Flag",
        "id": str(uuid5(_OURS, identity)),
        "meta": meta_of(origin),
        "extension": [
            {
                "url": PRIORITY,
                "valueCodeableConcept": {"coding": [{"system": PRIORITY_CODES, "code": code, "display": display}]},
            }
        ],
        "identifier": [{"system": ALERT, "value": str(one.number)}],
        "status": "active" if became.ended_at is None else "inactive",
        "category": [{"text": f"{became.kind} alert"}],
        "code": {"text": one.words or became.rule.replace("_", " ")},
        "subject": bed_of(became.bed) if became.bed else {"type": "Location", "display": "The whole unit"},
        "period": period,
        "author": {"type": "Device", "display": "Weirkeeper: a second look, never the alarm"},
    }
    return _checked(Flag, made)


def words_of_export(lines: list[str], by: str, why: str, sent: str, origin: Origin | None) -> Json:
    """Give what an export says of itself."""
    made = {
        "resourceType": "Communication",
        "id": str(uuid5(_OURS, f"{sent}/{by}/{why}")),
        "meta": meta_of(origin),
        "status": "completed",
        "category": [{"text": "What this export is, and is not"}],
        "sent": sent,
        "sender": {"type": "PractitionerRole", "display": by},
        "reasonCode": [{"text": why}],
        "payload": [{"contentString": line} for line in lines if line],
    }
    return _checked(Communication, made)


def meta_of(origin: Origin | None) -> Json:
    """Give the marks of an origin: SIMULATED or HAND-ENTERED as a tag, and HL7's label where it is of nobody."""
    marks: Json = {}
    if is_test(origin):
        marks["security"] = [TEST_DATA]
    words = ORIGIN_WORDS[origin] if origin is not None else "ORIGIN NOT TOLD"
    marks["tag"] = [{"system": ORIGIN, "code": words.replace(" ", "-"), "display": words}]
    return marks


def bed_of(bed: str) -> Json:
    """Give a reference to a bed: by its label, to no resource."""
    return {"type": "Location", "identifier": {"system": BED, "value": bed}, "display": f"Bed {bed}"}


def _checked(model: Any, made: Mapping[str, Any]) -> Json:
    """Hold a resource to the published model. Raises ValueError (pydantic) where it is none: a defect of ours."""
    model.model_validate_json(json.dumps(made))
    return dict(made)
