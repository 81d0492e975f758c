"""The confusion table of hints as a sheet of text, and as JSON."""

from collections.abc import Sequence
from dataclasses import asdict, dataclass

from monitor.analysis.confusion import NOTHING, Answer, Confusion, Line, confusion_of
from monitor.cli.as_json import as_json as written
from monitor.core.patterns import Patterns
from monitor.rehearsal.pattern_play import Played

NOTE = (
    "Simulated courses: causes are equally frequent and widely spread, patients invented. The figures say how the\n"
    "table of patterns and the simulated circuit agree, not how often a hint is right at a bed. A hint never\n"
    "changes a priority."
)
_LONGEST_TITLE = 34


@dataclass(frozen=True, slots=True)
class Ran:
    """How the courses were run: seconds on the clock and of processors; ``early``: hints before a fault."""

    courses: int
    seed: int
    supports: tuple[str, ...]
    clock_s: float
    cpu_s: float
    early: int


def table_of(played: Sequence[Played], patterns: Patterns) -> Confusion:
    """Count what was played, in the order of the patterns."""
    order = [*(row.id for row in patterns.pattern), NOTHING]
    return confusion_of((_answer(one) for one in played), order)


def sheet(table: Confusion, patterns: Patterns, ran: Ran) -> str:
    """Write the table."""
    wide = [max(3, len(word) + 1) for word in table.columns]
    head = "".join(f"{word:>{width}}" for word, width in zip(table.columns, wide, strict=True))
    rows = [_row(line, table.columns, wide, patterns) for line in table.lines]
    cases, right, two, silent = table.sums()
    asked = cases - sum(line.never_asked for line in table.lines if line.truth != NOTHING)
    label = "true pattern · first hint"
    lines = [
        f"Hints over {ran.courses} simulated courses, seed {ran.seed}, {', '.join(ran.supports)}",
        "",
        f"{label:<{_LONGEST_TITLE + 6}}{head}  first  first 2  no alert  right after s",
        *rows,
        "",
        f"First hint right: {_share(right, cases)}; where an alert was raised: {_share(right, asked)}.",
        f"Among the first two: {_share(two, cases)}; where an alert was raised: {_share(two, asked)}. "
        f"No hint: {_share(silent, cases)}.",
        f"Hints before anything was wrong: {ran.early}.",
        f"Columns: the first hint; {NOTHING}: none came. First 2: it, or the first that it says fits too.",
        "No alert: none was raised after the fault, so there was no occasion. Right after: median and slowest",
        "until the true pattern came first.",
        f"{ran.clock_s:.1f} s on the clock, {ran.cpu_s:.1f} s of processors.",
        "",
        NOTE,
    ]
    return "\n".join(lines)


def as_json(table: Confusion, played: Sequence[Played], ran: Ran) -> str:
    """Give run, table and every course as one JSON object."""
    cases, right, two, silent = table.sums()
    whole = {
        "run": asdict(ran),
        "sums": {"cases": cases, "right": right, "among_two": two, "no_hint": silent},
        "table": asdict(table),
        "courses": [asdict(one) for one in played],
    }
    return written(whole)


def _answer(one: Played) -> Answer:
    return Answer(one.truth, one.first, one.second, one.alerted_s is not None or one.first is not None, one.right_s)


def _row(line: Line, columns: Sequence[str], wide: Sequence[int], patterns: Patterns) -> str:
    cells = "".join(f"{line.said.get(word, 0) or '·':>{width}}" for word, width in zip(columns, wide, strict=True))
    title = "no fault" if line.truth == NOTHING else patterns.title(line.truth)
    name = f"{line.truth:<5}{title[:_LONGEST_TITLE]}"
    times = "" if line.median_s is None else f"{line.median_s:6.0f} {line.slowest_s:6.0f}"
    parts = f"{_percent(line.right, line.cases):>7}{_percent(line.among_two, line.cases):>9}{line.never_asked:>10}"
    return f"{name:<{_LONGEST_TITLE + 6}}{cells}{parts}{times:>15}"


def _percent(part: int, whole: int) -> str:
    return f"{100 * part / whole:.0f} %" if whole else "--"


def _share(part: int, whole: int) -> str:
    return f"{part} of {whole} ({_percent(part, whole)})"
