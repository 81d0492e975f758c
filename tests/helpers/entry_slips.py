"""Slips made from genuine rounds, and what the checks do with each: `python -m tests.helpers.entry_slips`.

The kinds are those that the trade names for hourly rounds (common practice, no source; factors of ten as a class:
Thimbleby and Cairns 2010, J R Soc Interface, PMC2935596): out by ten, two digits exchanged, another unit, two
fields exchanged, a number in the wrong field, a sign lost, a total for a rate, another bed's numbers.

A slip is stopped when the number is refused, or must be typed again, or the set is questioned. A slip that lies as
near to the last number as genuine numbers of that field lie to theirs cannot be told from one, whatever is done:
those are counted apart. How near that is, is measured on the genuine rounds, not taken from the checks.
"""

import random
import sys
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import NamedTuple

from shared.entry.findings import Reason
from shared.entry.judging import SENT, Judgement, Situation, judge
from shared.entry.slips import exchanged_digits
from shared.quantities import Quantity as Q
from tests.helpers.entry_rounds import TABLE, Bed, Round, all_rounds, changes_of, shifted

#: A number that is read for one field and typed into another.
WRONG_FIELD = (
    (Q.FDO2, Q.SWEEP_GAS_FLOW),
    (Q.SYSTOLIC_PRESSURE, Q.MEAN_ARTERIAL_PRESSURE),
    (Q.APTT_RATIO, Q.APTT),
    (Q.APTT, Q.APTT_RATIO),
    (Q.SPO2_RIGHT_HAND, Q.SVO2),
    (Q.BATTERY_MINUTES, Q.BATTERY_CHARGE),
    (Q.BATTERY_CHARGE, Q.BATTERY_MINUTES),
)
EXCHANGED = (
    (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE),
    (Q.SYSTOLIC_PRESSURE, Q.DIASTOLIC_PRESSURE),
    (Q.PA_MEAN_PRESSURE, Q.PA_DIASTOLIC_PRESSURE),
    (Q.LIMB_NIRS_LEFT, Q.LIMB_NIRS_RIGHT),
    (Q.PRE_OXYGENATOR_PO2, Q.POST_OXYGENATOR_PO2),
    (Q.PRE_OXYGENATOR_PCO2, Q.POST_OXYGENATOR_PCO2),
)


#: How much genuine numbers differed from the last one at most: 4 032 rounds of 24 h, other seeds than in the tests.
#: What is within cannot be told from a genuine number. `... entry_slips largest` measures it again.
GENUINE: Mapping[Q, float] = {
    Q.ACT: 23,
    Q.ANTI_XA: 0.08,
    Q.APTT: 9,
    Q.APTT_RATIO: 0.3,
    Q.ARTERIAL_PO2: 40,
    Q.BATTERY_CHARGE: 0,
    Q.BATTERY_MINUTES: 25,
    Q.BLOOD_TEMPERATURE: 0.4,
    Q.CENTRAL_VENOUS_PRESSURE: 5,
    Q.D_DIMER: 1,
    Q.DIASTOLIC_PRESSURE: 16,
    Q.FDO2: 5,
    Q.FIBRINOGEN: 0.5,
    Q.HAEMATOCRIT: 2,
    Q.HAEMOGLOBIN: 7,
    Q.HEPARIN_RATE: 34,
    Q.INLET_PRESSURE: 17,
    Q.LACTATE: 0.5,
    Q.LDH: 57,
    Q.LEFT_ATRIAL_PRESSURE: 5,
    Q.LIMB_NIRS_LEFT: 6,
    Q.LIMB_NIRS_RIGHT: 6,
    Q.MEAN_ARTERIAL_PRESSURE: 13,
    Q.ON_MAINS: 0,
    Q.PA_DIASTOLIC_PRESSURE: 6,
    Q.PA_MEAN_PRESSURE: 7,
    Q.PLASMA_FREE_HAEMOGLOBIN: 16,
    Q.PLATELETS: 26,
    Q.POST_OXYGENATOR_PCO2: 5,
    Q.POST_OXYGENATOR_PO2: 44,
    Q.POST_OXYGENATOR_PRESSURE: 20,
    Q.PRE_OXYGENATOR_PCO2: 6,
    Q.PRE_OXYGENATOR_PO2: 6,
    Q.PRE_OXYGENATOR_PRESSURE: 22,
    Q.PUMP_FLOW: 0.4,
    Q.PUMP_SPEED: 100,
    Q.SPO2_FOOT: 5,
    Q.SPO2_RIGHT_HAND: 8,
    Q.SVO2: 6,
    Q.SWEEP_GAS_FLOW: 0.5,
    Q.SYSTOLIC_PRESSURE: 16,
    Q.URINE_OUTPUT: 46,
}
#: Differences of decimal numbers as floats are not exact.
ROUNDING = 1e-9
#: What is added to the seeds of the beds where that was measured, and where the tests look.
MEASURED_WITH, TESTED_WITH = (0, 300), 100
ANOTHER_BED = "another bed's numbers"


class Slip(NamedTuple):
    """A genuine set with a slip in it: its kind, what is typed, and which fields the slip touches."""

    kind: str
    texts: Mapping[Q, str]
    fields: tuple[Q, ...]


class Case(NamedTuple):
    """A genuine round with what was known of the other beds at that time."""

    bed: Bed
    round: Round
    beside: tuple[Round, ...]

    def as_first(self) -> "Case":
        """Give the same set as the first of its run: nothing is known."""
        blank = self.round.known.begun_anew(self.round.known.run)
        return Case(self.bed, replace(self.round, known=blank), ())

    def situation(self) -> Situation:
        """Give what its set is judged by."""
        return Situation(
            TABLE, self.round.known, self.round.read_at, tuple(one.known for one in self.beside), self.round.ordered
        )


@dataclass(slots=True)
class Tally:
    """How slips of one kind fared."""

    made: int = 0
    refused: int = 0
    asked: int = 0
    past: int = 0
    within: int = 0

    @property
    def stopped(self) -> int:
        """Refused or asked about."""
        return self.refused + self.asked


@dataclass(slots=True)
class Outcome:
    """What became of genuine sets and of slips.

    Attributes:
        genuine, prompted: sets, and those of them in which anything was asked or refused.
        beyond: sets in which it was asked about nothing but a number that truly lay beyond its soft range.
        told: by kind, slips that a genuine reading could not be.
        alike: by kind, slips within what genuine readings of the field differ by.
        past: slips that nobody stopped though they could be told.
    """

    genuine: int
    prompted: int
    beyond: int
    prompts: Counter[str]
    told: dict[str, Tally]
    alike: dict[str, Tally]
    past: list[str]


def cases_of(played: Mapping[Bed, list[list[Round]]]) -> list[Case]:
    """Give every genuine round with the other beds beside it."""
    found = []
    for bed, series in played.items():
        for number, rounds in enumerate(series):
            for place, one in enumerate(rounds):
                beside = tuple(theirs[number][place] for other, theirs in played.items() if other != bed)
                found.append(Case(bed, one, beside))
    return found


def largest_changes(plays: Iterable[Mapping[Bed, list[list[Round]]]]) -> dict[Q, float]:
    """Give how much a genuine number of each field differs from the last one at most."""
    found: dict[Q, float] = {}
    for played in plays:
        for quantity, change in chain.from_iterable(changes_of(series) for series in played.values()):
            found[quantity] = max(change, found.get(quantity, 0.0))
    return found


def slips_in(case: Case, rng: random.Random) -> Iterator[Slip]:
    """Make every slip that a genuine set gives; one of each kind and field."""
    texts = case.round.texts
    for quantity, text in texts.items():
        if quantity is Q.ON_MAINS:
            continue
        for out in _tenfold(text):
            yield Slip("out by ten", {**texts, quantity: out}, (quantity,))
        for out in exchanged_digits(text.lstrip("-")):
            if len(out.split(".")[0]) == 1 or not out.startswith("0"):  # nobody types a leading zero
                sign = "-" if text.startswith("-") else ""
                yield Slip("two digits exchanged", {**texts, quantity: sign + out}, (quantity,))
        yield from _other_units(case, quantity, text)
        if text.startswith("-"):
            yield Slip("sign lost", {**texts, quantity: text[1:]}, (quantity,))
    if Q.URINE_OUTPUT in texts:
        total = f"{float(texts[Q.URINE_OUTPUT]) * 24:.0f}"
        yield Slip("24 h total for an hour", {**texts, Q.URINE_OUTPUT: total}, (Q.URINE_OUTPUT,))
    for one, other in EXCHANGED:
        if one in texts and other in texts:
            yield Slip("two fields exchanged", {**texts, one: texts[other], other: texts[one]}, (one, other))
    for one, other in WRONG_FIELD:
        if one in texts and other in texts:
            yield Slip("number in the wrong field", {**texts, other: texts[one]}, (other,))
    yield from _other_bed(case, rng)


def _tenfold(text: str) -> Iterator[str]:
    """Give the same digits with the point one place off, and with a zero more or less."""
    value, digits = float(text), len(text.partition(".")[2])
    if value == 0:
        return
    yield f"{value * 10:.{max(0, digits - 1)}f}"
    yield f"{value / 10:.{digits + 1}f}"
    if not digits and text.endswith("0"):
        yield text[:-1]


def _other_units(case: Case, quantity: Q, text: str) -> Iterator[Slip]:
    one = TABLE.field_of(case.round.known.run, quantity)
    for other in one.other_unit if one is not None else ():
        meant = (float(text) - other.offset) / other.factor
        digits = 0 if abs(meant) >= 100 else 1 if abs(meant) >= 10 else 2
        shown = f"{meant:.{digits}f}"
        yield Slip("another unit", {**case.round.texts, quantity: shown}, (quantity,))
        if digits:
            yield Slip("another unit", {**case.round.texts, quantity: f"{meant:.0f}"}, (quantity,))


def _other_bed(case: Case, rng: random.Random) -> Iterator[Slip]:
    """Type what is read at another bed on this bed's form."""
    for other in rng.sample(case.beside, min(2, len(case.beside))):
        theirs = {quantity: text for quantity, text in other.texts.items() if quantity in case.round.texts}
        yield Slip(ANOTHER_BED, theirs, tuple(theirs))


def is_alike(case: Case, slip: Slip) -> bool:
    """Tell whether every number of a slip lies as near to the last one as genuine numbers do.

    Another bed's numbers can be told where three fields differ by more than a fifth (common practice, no source).
    """
    if slip.kind == ANOTHER_BED:
        last = {q: told.value for q in slip.fields if (told := case.round.known.last.get(q)) is not None}
        return sum(abs(float(slip.texts[q]) - value) > 0.2 * abs(value) for q, value in last.items()) < 3
    for quantity in slip.fields:
        told = case.round.known.last.get(quantity)
        if told is None or abs(float(slip.texts[quantity]) - told.value) > GENUINE[quantity] + ROUNDING:
            return False
    return True


def is_stopped(judged: Judgement, slip: Slip) -> str:
    """Say whether a slip is ``refused`` or ``asked`` about; empty where every number of it would be sent."""
    standings = [judged.of(quantity).standing for quantity in slip.fields]
    if judged.resemblance is not None:
        return "asked"
    if slip.kind != ANOTHER_BED and not judged.ready:
        about = {quantity for finding in judged.questions for quantity, _ in finding.about}
        if about & set(slip.fields):
            return "asked"
    if slip.kind == ANOTHER_BED:
        return "" if judged.ready else "asked"
    return "" if any(standing in SENT for standing in standings) else "refused"


def outcome(
    played: Mapping[Bed, list[list[Round]]], seed: int = 1, share: float = 1.0, first: bool = False
) -> Outcome:
    """Judge every genuine set, and slips made from a share of those that are asked nothing.

    ``first``: each set as if it were the first of its run. No number has a last one then, and all count as told.
    """
    rng = random.Random(seed)
    found = Outcome(0, 0, 0, Counter(), {}, {}, [])
    for case in (one.as_first() if first else one for one in cases_of(played)):
        judged = judge(case.situation(), case.round.texts)
        found.genuine += 1
        reasons = [f"{finding.quantity} {finding.reason}" for one in judged.fields for finding in one.findings]
        reasons += ["resembles another bed"] if judged.resemblance else []
        found.prompted += bool(reasons)
        found.beyond += bool(reasons) and all(reason.endswith(f" {Reason.UNUSUAL}") for reason in reasons)
        found.prompts.update(reasons)
        if reasons or not (first or _has_last(case)):
            continue
        for slip in slips_in(case, rng):
            if rng.random() <= share:
                _tally(found, case, slip)
    return found


def _has_last(case: Case) -> bool:
    return Q.PUMP_FLOW in case.round.known.last


def _tally(found: Outcome, case: Case, slip: Slip) -> None:
    if all(slip.texts[quantity] == case.round.texts[quantity] for quantity in slip.fields):
        return
    alike = is_alike(case, slip)
    tally = (found.alike if alike else found.told).setdefault(slip.kind, Tally())
    stopped = is_stopped(judge(case.situation(), slip.texts), slip)
    tally.made += 1
    tally.refused += stopped == "refused"
    tally.asked += stopped == "asked"
    tally.past += not stopped
    if not stopped and not alike:
        last = {q: told.value for q in slip.fields if (told := case.round.known.last.get(q))}
        typed = {q.value: slip.texts[q] for q in slip.fields}
        found.past.append(
            f"{slip.kind} at {case.bed.label} {case.bed.support}: {typed}, last {list(last.values())}"
        )


def table_of(found: Outcome) -> str:
    """Write it as a table."""
    per_hundred = 100 * found.prompted / found.genuine
    lines = [
        f"Genuine sets {found.genuine}; something was asked in {found.prompted} ({per_hundred:.2f} of 100),",
        f"in {found.beyond} of them only about a number that truly lay beyond its soft range.",
        *(f"    {times} x {what}" for what, times in found.prompts.most_common()),
        "",
        f"{'slip':28}{'made':>7}{'refused':>9}{'asked':>7}{'past':>6}   {'alike':>6}{'stopped':>9}",
    ]
    for kind in sorted({*found.told, *found.alike}):
        one, near = found.told.get(kind, Tally()), found.alike.get(kind, Tally())
        lines.append(
            f"{kind:28}{one.made:7}{one.refused:9}{one.asked:7}{one.past:6}   {near.made:6}{near.stopped:9}"
        )
    lines += [
        "",
        "alike: as near to the last number as genuine ones; no check can tell those, some are asked about.",
    ]
    return "\n".join([*lines, *found.past[:20]])


def main(arguments: Sequence[str]) -> None:
    """Print the table for beds played for so many hours (default 12), other than those measured for `GENUINE`.

    ``largest`` measures those instead; ``first`` judges every set as the first of its run.
    """
    if arguments[:1] == ["first"]:
        sys.stdout.write(table_of(outcome(all_rounds(6, 5, shifted(TESTED_WITH)), share=0.2, first=True)) + "\n")
        return
    if arguments[:1] == ["largest"]:
        found = largest_changes([all_rounds(24, 5, shifted(by)) for by in MEASURED_WITH])
        sys.stdout.write("".join(f"{quantity:28}{change:8.2f}\n" for quantity, change in sorted(found.items())))
        return
    hours, shift = (int(word) for word in (*arguments, "12", str(TESTED_WITH))[:2])
    sys.stdout.write(table_of(outcome(all_rounds(hours, 5, shifted(shift)), share=0.2)) + "\n")


if __name__ == "__main__":
    main(sys.argv[1:])
