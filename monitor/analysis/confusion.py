"""A confusion table: what was true against what was said first. Pure counts; no figure of nothing."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from statistics import median

#: Nothing was said.
NOTHING = "none"


@dataclass(frozen=True, slots=True)
class Answer:
    """One case.

    Attributes:
        truth: what was true; `NOTHING`: nothing to find.
        first, second: what was said first and next to it; ``None``: nothing.
        asked: there was an occasion to say anything.
        right_s: seconds until the truth was said first; ``None``: never.
    """

    truth: str
    first: str | None
    second: str | None
    asked: bool
    right_s: float | None


@dataclass(frozen=True, slots=True)
class Line:
    """The cases of one truth.

    Attributes:
        said: how often each thing was said first, `NOTHING` among them.
        right, among_two: how often the truth was first, or among the first two.
        never_asked: cases without an occasion to say anything; they count as nothing said.
        median_s, slowest_s: seconds until the truth was said first, of the cases where it ever was.
    """

    truth: str
    cases: int
    said: dict[str, int]
    right: int
    among_two: int
    never_asked: int
    median_s: float | None
    slowest_s: float | None


@dataclass(frozen=True, slots=True)
class Confusion:
    """The table, in the order of the columns; ``columns`` are what was said, `NOTHING` last."""

    columns: tuple[str, ...]
    lines: tuple[Line, ...]

    def sums(self) -> tuple[int, int, int, int]:
        """Give cases with something to find: how many, right at first, among the first two, nothing said."""
        found = [line for line in self.lines if line.truth != NOTHING]
        return (
            sum(line.cases for line in found),
            sum(line.right for line in found),
            sum(line.among_two for line in found),
            sum(line.said.get(NOTHING, 0) for line in found),
        )


def confusion_of(answers: Iterable[Answer], order: Sequence[str]) -> Confusion:
    """Count answers; ``order``: all that can be true or said, `NOTHING` last."""
    by_truth: dict[str, list[Answer]] = {}
    for answer in answers:
        by_truth.setdefault(answer.truth, []).append(answer)
    lines = tuple(_line(truth, by_truth[truth]) for truth in order if truth in by_truth)
    said = {word for line in lines for word in line.said} | {line.truth for line in lines}
    return Confusion(tuple(word for word in order if word in said), lines)


def _line(truth: str, cases: Sequence[Answer]) -> Line:
    times = sorted(case.right_s for case in cases if case.right_s is not None)
    return Line(
        truth=truth,
        cases=len(cases),
        said=dict(Counter(case.first or NOTHING for case in cases)),
        right=sum((case.first or NOTHING) == truth for case in cases),
        among_two=sum(truth in (case.first or NOTHING, case.second) for case in cases),
        never_asked=sum(not case.asked for case in cases),
        median_s=median(times) if times else None,
        slowest_s=times[-1] if times else None,
    )
