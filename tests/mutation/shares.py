"""Which mutants are judged, and how many may be let pass: of each module or table no more than one in twenty."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TypeVar

M = TypeVar("M")

#: Of so many mutants of one module or table, one may survive.
ONE_IN = 20


@dataclass(frozen=True)
class Share:
    """``judged`` mutants of one module or table, and how many of those no test finds."""

    name: str
    judged: int
    surviving: int

    def is_small(self) -> bool:
        """Tell whether no more survive than may."""
        return self.surviving * ONE_IN <= self.judged

    def __str__(self) -> str:
        verdict = "" if self.is_small() else f", more than one in {ONE_IN}"
        of = f"{100 * self.surviving / self.judged:.1f} %"
        return f"{self.name}: {self.judged} judged, {self.surviving} survive ({of}){verdict}"


def picked(found: Mapping[str, Sequence[M]], every: int, first: int) -> dict[str, list[M]]:
    """Give one mutant in ``every`` of all that were found, counted from ``first`` through all modules."""
    through = [(name, one) for name, ones in found.items() for one in ones][first::every]
    return {name: ones for name in found if (ones := [one for of, one in through if of == name])}


def nothing_picked(only: str, names: Sequence[str], found: Mapping[str, Sequence[object]]) -> str:
    """Say why nothing is judged, and what there is; ``found``: of the names asked for, with their mutants."""
    if not found:
        there = "".join(f"\n  {name}" for name in names)
        return f"--only {only}: nothing of that name is mutated; there is{there}"
    there = "".join(f"\n  {name}: {len(ones)}" for name, ones in found.items())
    return f"--from is beyond the last of {sum(map(len, found.values()))} mutants; there are{there}"


def verdict(shares: Sequence[Share], there: int) -> tuple[str, int]:
    """Give what is told of a run over ``there`` mutants, and its exit status: 1 where any share is too large."""
    lines = [*map(str, shares), f"{sum(share.judged for share in shares)} of {there} mutants judged"]
    return "\n".join(lines), 0 if all(share.is_small() for share in shares) else 1
