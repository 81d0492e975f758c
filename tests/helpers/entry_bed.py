"""Beds whose sets are typed by hand: the base bed of the scenarios, and how a set is judged there."""

from collections.abc import Mapping

from shared.entry.findings import Key, Reason
from shared.entry.judging import Judgement, Situation, judge
from shared.entry.known import Known
from shared.entry.table import EntryTable, parse_entry_table
from shared.instant import HOUR, Instant
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, Support, describe_run
from tests.helpers.courses import CONFIG

TABLE: EntryTable = parse_entry_table((CONFIG / "entry.toml").read_text())
#: The base bed of the scenarios, with the laboratory of its scripted form.
BASE: Mapping[Q, str] = {
    Q.PUMP_SPEED: "3500",
    Q.PUMP_FLOW: "4.2",
    Q.INLET_PRESSURE: "-60",
    Q.PRE_OXYGENATOR_PRESSURE: "220",
    Q.POST_OXYGENATOR_PRESSURE: "190",
    Q.SWEEP_GAS_FLOW: "3.0",
    Q.FDO2: "80",
    Q.BLOOD_TEMPERATURE: "36.8",
    Q.ON_MAINS: "1",
    Q.BATTERY_CHARGE: "100",
    Q.MEAN_ARTERIAL_PRESSURE: "72",
    Q.SYSTOLIC_PRESSURE: "89",
    Q.DIASTOLIC_PRESSURE: "64",
    Q.SPO2_RIGHT_HAND: "97",
    Q.SVO2: "70",
    Q.HAEMOGLOBIN: "95",
}
LIMBS = frozenset({Q.LIMB_NIRS_LEFT, Q.LIMB_NIRS_RIGHT})


def bed(
    label: str = "B5",
    texts: Mapping[Q, str] | None = None,
    support: Support = Support.VA,
    read_at: Instant = 0,
    top_speed: float | None = 5000.0,
) -> Known:
    """Give a bed with one accepted set, the base one where none is named; with an empty one, nothing is known."""
    known = Known(
        label, describe_run(support, f"{label}-run-1", sensors=DEFAULT_SENSORS[support] | LIMBS), top_speed
    )
    values = {quantity: float(text) for quantity, text in (BASE if texts is None else texts).items()}
    return known.with_set(values, read_at) if values else known


def judged(
    known: Known,
    texts: Mapping[Q, str],
    *others: Known,
    read_at: Instant = HOUR,
    confirmed: frozenset[Key] = frozenset(),
    not_from: frozenset[str] = frozenset(),
    ordered: frozenset[Q] = frozenset(),
) -> Judgement:
    """Judge a set an hour after the last."""
    return judge(Situation(TABLE, known, read_at, tuple(others), ordered), texts, confirmed, not_from)


def reasons(judgement: Judgement) -> set[Reason]:
    """Give why something is asked or refused anywhere in a set."""
    return {finding.reason for verdict in judgement.fields for finding in verdict.findings}


def reason_at(known_texts: dict[Q, str] | None, changed: dict[Q, str], at: Q, whole: bool = True) -> set[Reason]:
    """Give why a field of the base set, changed, is asked about or refused."""
    texts = {**BASE, **changed} if whole else changed
    return {finding.reason for finding in judged(bed(texts=known_texts), texts).of(at).findings}
