"""A whole set judged: every field's standing, what was derived, whether it looks like another bed's.

A function of what was typed, of what is known and of what was confirmed. It is asked again after every field;
nothing is remembered here.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from enum import StrEnum

from shared.derived import derive
from shared.entry.another_bed import Resemblance, resembles
from shared.entry.crossing import Whole, check_set
from shared.entry.findings import Finding, Key, Reason, found
from shared.entry.known import Known, Told
from shared.entry.ranges import check_range, is_known_to_be_so
from shared.entry.slips import check_change, check_slip
from shared.entry.table import EntryField, EntryTable
from shared.entry.typed import Number, Unreadable, read_typed
from shared.instant import Instant
from shared.language.saying import say
from shared.quantities import Quantity


class Standing(StrEnum):
    """How a field stands. Only ``accepted`` and ``confirmed`` numbers are ever sent."""

    EMPTY = "empty"
    ACCEPTED = "accepted"
    CONFIRMED = "confirmed"
    RETYPE = "retype"
    REFUSED = "refused"


#: Reasons that name the slip itself; they are told before the others.
TELLS_MOST = frozenset(
    {Reason.SIGN, Reason.TENFOLD, Reason.DIGITS, Reason.OTHER_UNIT, Reason.EXCHANGED, Reason.DROP, Reason.PULSE}
)
SENT = frozenset({Standing.ACCEPTED, Standing.CONFIRMED})


@dataclass(frozen=True, slots=True)
class Situation:
    """What a set is judged by.

    Attributes:
        known: the run of this bed; ``others``: the other runs of the unit.
        read_at: when the numbers were read.
        ordered: quantities for which an order since the last set explains a change, as the person who types says.
        stays: numbers of a set in correction, as they were sent: what is typed is looked at together with them.
    """

    table: EntryTable
    known: Known
    read_at: Instant
    others: tuple[Known, ...] = ()
    ordered: frozenset[Quantity] = frozenset()
    stays: Mapping[Quantity, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class FieldVerdict:
    """One field: how it stands and why.

    Attributes:
        told: the last number that still counts, for the grey words beside the field; never a value of the field.
        difference: typed number less the last one.
    """

    field: EntryField
    standing: Standing
    number: Number | None = None
    findings: tuple[Finding, ...] = ()
    told: Told | None = None

    @property
    def words(self) -> str:
        """Say what is found and what to do, or nothing: a refusal alone, else the two questions that tell most."""
        refused = [finding for finding in self.findings if finding.refused]
        told = refused[:1] or sorted(self.findings, key=lambda finding: finding.reason not in TELLS_MOST)[:2]
        if not told:
            return ""
        if told[0].reason is Reason.UNREADABLE:
            return told[0].words
        return " ".join([*(finding.words for finding in told), told[0].to_do])

    @property
    def difference(self) -> float | None:
        """Typed number less the last one, in the unit of the field."""
        return None if self.number is None or self.told is None else self.number.value - self.told.value


@dataclass(frozen=True, slots=True)
class Judgement:
    """A whole set.

    Attributes:
        fields: every field of the run's form, in its order.
        possible: the numbers typed that can be, whether they can be sent or not, and those that stay.
        derived: what follows from those.
        resemblance: the bed that it looks like instead, or ``None``.
    """

    fields: tuple[FieldVerdict, ...]
    possible: Mapping[Quantity, float] = field(default_factory=dict)
    derived: Mapping[Quantity, float] = field(default_factory=dict)
    resemblance: Resemblance | None = None

    def of(self, quantity: Quantity) -> FieldVerdict:
        """Give the verdict of a field. Raises KeyError where the form has none."""
        for verdict in self.fields:
            if verdict.field.quantity is quantity:
                return verdict
        raise KeyError(quantity)

    @property
    def questions(self) -> tuple[Finding, ...]:
        """What must be typed again before anything is sent."""
        return tuple(f for v in self.fields if v.standing is Standing.RETYPE for f in v.findings if not f.refused)

    @property
    def values(self) -> dict[Quantity, float]:
        """The numbers that can be sent."""
        return {v.field.quantity: v.number.value for v in self.fields if v.number and v.standing in SENT}

    @property
    def ready(self) -> bool:
        """Tell whether it can be sent: something stands, nothing is asked, and no other bed is resembled."""
        return bool(self.values) and not self.questions and self.resemblance is None


def judge(
    situation: Situation,
    typed: Mapping[Quantity, str],
    confirmed: frozenset[Key] = frozenset(),
    not_from: frozenset[str] = frozenset(),
    old: frozenset[Quantity] = frozenset(),
) -> Judgement:
    """Judge what stands in the fields of a form.

    Args:
        typed: the text of each field; empty or left out: not read.
        confirmed: questions that were answered by typing the same number again.
        not_from: beds that the set resembled, and is not from: the bed's own label was typed in answer.
        old: fields whose numbers were typed so long ago that they must be read again.
    """
    table, known = situation.table, situation.known
    fields = table.fields_of(known.run)
    read = {one.quantity: read_typed(typed.get(one.quantity, ""), one) for one in fields}
    numbers = {quantity: said for quantity, said in read.items() if isinstance(said, Number)}
    values = {quantity: number.value for quantity, number in numbers.items()}
    last = _last(situation, fields)
    alone = [f for one in fields for f in _of_field(situation, one, numbers.get(one.quantity), last)]
    cannot_be = {f.quantity for f in alone if f.refused or f.then_refused}  # says nothing of other numbers
    stays = {one.quantity: situation.stays[one.quantity] for one in fields if one.quantity in situation.stays}
    possible = stays | {quantity: value for quantity, value in values.items() if quantity not in cannot_be}
    run = known.run
    whole = Whole(table.checks, run.support, possible, last, known.resistances, table.typed, run.oxygenator)
    together = [put for one in check_set(whole) if (put := _at_typed(one, values)) is not None]
    aged = [_aged(one, numbers[one.quantity]) for one in fields if one.quantity in old and one.quantity in numbers]
    everything = [*alone, *together, *aged]
    settled = [_settled(finding, confirmed) for finding in everything]
    verdicts = tuple(
        _verdict(one, read[one.quantity], settled, everything, last.get(one.quantity)) for one in fields
    )
    others = [other for other in situation.others if other.bed not in not_from]
    resemblance = resembles(table, known, values, situation.read_at, others)
    return Judgement(verdicts, possible, dict(derive(possible)), resemblance)


def confirm(judgement: Judgement, quantity: Quantity, again: str) -> frozenset[Key]:
    """Give what is confirmed when ``again`` is typed into a field that asks; nothing where it is another number.

    Where a sign may have been lost, only a number with its sign confirms.
    """
    verdict = judgement.of(quantity)
    said = read_typed(again, verdict.field)
    if verdict.standing is not Standing.RETYPE or verdict.number is None or not isinstance(said, Number):
        return frozenset()
    if said.value != verdict.number.value:
        return frozenset()
    unsigned = bool(verdict.field.sign) and not said.signed
    lasting = [f for f in verdict.findings if f.reason is not Reason.OLD]  # that is answered by the time alone
    own = [f for f in lasting if not (unsigned and f.reason is Reason.SIGN)]
    also = [f for f in judgement.questions if quantity in f.settled_by] if own else []
    return frozenset(finding.key for finding in (*own, *also))


def _at_typed(finding: Finding, typed: Mapping[Quantity, float]) -> Finding | None:
    """Put a finding to a number that was typed; about none of those, it was settled when the set was sent."""
    if finding.quantity in typed:
        return finding
    at = next((quantity for quantity, _ in finding.about if quantity in typed), None)
    return None if at is None else replace(finding, quantity=at)


def _last(situation: Situation, fields: tuple[EntryField, ...]) -> dict[Quantity, Told]:
    """Give the last numbers that still count."""
    known, table = situation.known, situation.table
    found = {one.quantity: known.told(one, situation.read_at, table) for one in fields}
    return {quantity: told for quantity, told in found.items() if told is not None}


def _of_field(
    situation: Situation, one: EntryField, number: Number | None, last: Mapping[Quantity, Told]
) -> Iterator[Finding]:
    if number is None:
        return
    told, top_speed = last.get(one.quantity), situation.known.top_speed
    by_range = list(check_range(one, number, top_speed))
    if told is not None and is_known_to_be_so(one, number.value, told.value, top_speed):
        by_range = [finding for finding in by_range if finding.reason is not Reason.UNUSUAL]
    yield from by_range
    if told is None or any(finding.refused or finding.then_refused for finding in by_range):
        return
    yield from check_change(one, number, told, situation.read_at, situation.ordered)
    if not any(finding.reason is Reason.SIGN for finding in by_range):
        yield from check_slip(one, number, told, situation.read_at, last)


def _aged(one: EntryField, number: Number) -> Finding:
    return found(one, number.value, Reason.OLD, say("was typed a while ago and never sent"))


def _settled(finding: Finding, confirmed: frozenset[Key]) -> Finding | None:
    """Give what is left of a finding: nothing once it was confirmed, a refusal where it cannot be."""
    if finding.refused or finding.key not in confirmed:
        return finding
    if not finding.then_refused:
        return None
    return Finding(finding.quantity, finding.reason, True, finding.words, finding.about)


def _verdict(
    one: EntryField,
    said: Number | Unreadable | None,
    settled: list[Finding | None],
    everything: list[Finding],
    told: Told | None,
) -> FieldVerdict:
    if said is None:
        return FieldVerdict(one, Standing.EMPTY, told=told)
    if isinstance(said, Unreadable):
        finding = Finding(one.quantity, Reason.UNREADABLE, True, said.words, ())
        return FieldVerdict(one, Standing.REFUSED, None, (finding,), told)
    left = [finding for finding in settled if finding is not None]
    open_here = [f for f in left if f.quantity is one.quantity or (f.refused and one.quantity in f.holds)]
    if any(finding.refused for finding in open_here):
        return FieldVerdict(one, Standing.REFUSED, said, tuple(open_here), told)
    if open_here:
        return FieldVerdict(one, Standing.RETYPE, said, tuple(open_here), told)
    asked = any(finding.quantity is one.quantity for finding in everything)
    return FieldVerdict(one, Standing.CONFIRMED if asked else Standing.ACCEPTED, said, (), told)
