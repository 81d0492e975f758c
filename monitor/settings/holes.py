"""Holes in the cover that a configuration begins with: they are no faults, and nobody should meet them at night."""

from collections.abc import Iterator

from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.unit import Unit


def holes_in(unit: Unit) -> Iterator[str]:
    """Give one line for each rung with nobody, and for each bed in use without a nurse."""
    for rung in (Rung.CHARGE, Rung.PERFUSIONIST, Rung.INTENSIVIST, Rung.SURGEON):
        if not unit.roster.on(rung, None):
            yield f"{RUNG_LABEL[rung]}: nobody"
    if not unit.roster.deputy:
        yield "Deputy of the bedside nurses: nobody"
    for bed in unit.beds:
        if bed.runs and not (unit.roster.on(Rung.BEDSIDE, bed.label) or bed.nurse):
            yield f"Bed {bed.label}: no bedside nurse"
