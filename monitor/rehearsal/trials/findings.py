"""What a trial finds: a broken invariant, or none, with its story and counts that show that it did something."""

from collections import Counter
from dataclasses import dataclass, field

from monitor.rehearsal.trials.plan import clock
from shared.instant import Instant

#: By number, as in DEVELOPERS.md.
INVARIANTS = {
    1: "an observation is in the record exactly once, or still in its feed's journal",
    2: "a high alert is never lowered, hidden, cleared or held",
    3: "every unanswered alert reaches its next rung on time, once",
    4: "who has it is defined at every second, and a command is carried out once",
    5: "what is not fresh is never shown as live, and no rule speaks from it",
    6: "what was told as recorded is in the record, and nothing is deleted",
    7: "the same inputs give the same effects",
    8: "no hostile peer changes anything",
}


class Broken(BaseException):
    """An invariant does not hold. No wall against defects of ours may hold it up."""

    def __init__(self, invariant: int, words: str) -> None:
        super().__init__(f"invariant {invariant} ({INVARIANTS[invariant]}): {words}")
        self.invariant = invariant


@dataclass(slots=True)
class Story:
    """What happened, line by line, and how often what was done."""

    lines: list[str] = field(default_factory=list)
    counts: Counter[str] = field(default_factory=Counter)

    def tell(self, at: Instant, words: str) -> None:
        """Add a line."""
        self.lines.append(f"{clock(at)}  {words}")


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a plan. ``invariant``: the one that does not hold, 0: all do; ``words``: how."""

    seed: int
    invariant: int
    words: str
    lines: tuple[str, ...]
    counts: dict[str, int]
    bed_ms: int
