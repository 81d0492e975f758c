"""A set that looks like another bed's: the sheet of the bed beside this one, or the wrong form.

Only about one mismatch of patient and note in ten is ever found afterwards, and a plain question of identity lowers
their number from 0.5 to 0.3 % (Wilcox 2011, J Am Med Inform Assoc, PMC3128397). So the question names the other
bed and is answered by typing the label of this one.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shared.entry.findings import beyond
from shared.entry.known import Known
from shared.entry.looking import AnotherBed
from shared.entry.table import EntryTable
from shared.instant import Instant
from shared.language.saying import say
from shared.quantities import Quantity
from shared.support import label_at


@dataclass(frozen=True, slots=True)
class Resemblance:
    """Another bed that a set looks like.

    Attributes:
        bed: its label.
        fields: quantities that fit there and not here.
        words: for whoever types.
    """

    bed: str
    fields: tuple[Quantity, ...]
    words: str


def resembles(
    table: EntryTable, here: Known, values: Mapping[Quantity, float], read_at: Instant, others: Iterable[Known]
) -> Resemblance | None:
    """Give the bed that a set fits while it does not fit its own; the one with the most fields.

    Args:
        values: the numbers typed so far.
        others: the other runs of the unit; any of this bed itself is passed over.
    """
    found = (
        (other.bed, tuple(fits))
        for other in others
        if other.bed != here.bed
        if len(fits := _fits(table, here, other, values, read_at)) >= table.another_bed.fields
    )
    bed, fields = max(found, key=lambda pair: len(pair[1]), default=("", ()))
    if not bed:
        return None
    labels = ", ".join(say(label_at(quantity, here.run)) for quantity in fields)
    words = say(
        "This resembles bed {bed}, not {bed2}: {labels}. Nothing is sent. Look at the label at "
        "the bed. If you stand at {bed2} and have read these numbers there, type {bed2}.",
        bed=bed,
        bed2=here.bed,
        labels=labels,
    )
    return Resemblance(bed, fields, words)


def _fits(
    table: EntryTable, here: Known, other: Known, values: Mapping[Quantity, float], read_at: Instant
) -> list[Quantity]:
    rule, fits = table.another_bed, []
    for one in table.fields_of(here.run):
        value = values.get(one.quantity)
        own, theirs = here.told(one, read_at, table), other.told(one, read_at, table)
        if value is None or own is None or theirs is None:
            continue
        if beyond(_apart(value, own.value), rule.differ) and alike(rule, value, theirs.value):
            fits.append(one.quantity)
    return fits


def alike(rule: AnotherBed, value: float, theirs: float) -> bool:
    """Tell whether a number is another bed's, within the rule's share of it."""
    return not beyond(_apart(value, theirs), rule.alike)


def _apart(value: float, last: float) -> float:
    """Give the difference as a share of the last number; of zero, nothing but zero is near."""
    if value == last:
        return 0.0
    return abs(value - last) / abs(last) if last else float("inf")
