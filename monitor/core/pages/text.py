"""The text of a page: at most 160 plain characters, complete without opening the board, and nobody's identity.

``TEST SIMULATED B4 HIGH CRITICAL: Flow 2.2, limit 2.5 L/min since 03:12. Nobody has it. Perfusionist, first call.
Ring 4200. Last reading 03:10.``

Where it would be too long, the least important parts go, in this order: the rung's name; why it was called; the
label of who has it (that somebody has it stays); the title's words, the last ones first; the last reading. The
mark, the bed, the priority, numbers with their unit, since when, and the number to ring always stay whole. One
character is one place of a short message: `monitor.core.pages.plain` says why.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import tzinfo
from enum import StrEnum

from monitor.core.grades import RUNG_LABEL, Priority, Rung
from monitor.core.pages.plain import plain
from monitor.core.roster.wall import clock_of, dated
from monitor.core.titles import number
from shared.instant import HOUR, Instant
from shared.messages import Origin
from shared.quantities import CATALOGUE, Quantity

LONGEST = 160
AGAIN = "again: "
_MARKS = {Origin.SIMULATED: "SIMULATED", Origin.REPLAYED: "REPLAYED"}
_TEST = "TEST"


class Why(StrEnum):
    """Why somebody is called."""

    FIRST = "first call"
    AGAIN = "called again"
    STILL = "still present"
    WORSE = "worse"


@dataclass(frozen=True, slots=True, kw_only=True)
class PageFacts:
    """What a page tells. No field holds words that a person typed at a bed, or the name of a run.

    Attributes:
        bed: ``None``: the unit.
        value, limit: at the raise, in the unit of ``quantity``.
        since: when the condition was raised.
        at: now.
        holder: the roster's label of who has it; ``None``: nobody.
        phone: the number to ring; empty: the unit names none.
        last_reading_at: given where the reading is stale.
    """

    bed: str | None
    priority: Priority
    circuit_critical: bool
    title: str
    value: float | None
    limit: float | None
    quantity: Quantity | None
    since: Instant
    at: Instant
    holder: str | None
    rung: Rung
    why: Why
    phone: str
    origin: Origin | None
    last_reading_at: Instant | None


def text_of(facts: PageFacts, zone: tzinfo, *, test: bool) -> str:
    """Give the text of a page.

    Args:
        zone: of the unit's wall clock.
        test: the hub is a demonstration.
    """
    parts = _Parts.of(facts, zone, test)
    for shorter in parts.ever_shorter():
        if len(shorter.text()) <= LONGEST - len(AGAIN):
            return shorter.text()
    raise ValueError(f"the page of {facts.bed} cannot be told in {LONGEST} characters")


def again(text: str) -> str:
    """Say that a page may have come before: ``again:`` after the marks. Never longer than a page may be."""
    words = text.split(" ")
    marks = 0
    while marks < len(words) and words[marks] in (_TEST, *_MARKS.values()):
        marks += 1
    rest = " ".join(words[marks:])
    return " ".join([*words[:marks], rest if rest.startswith(AGAIN) else f"{AGAIN}{rest}"])


def numbers_of(facts: PageFacts) -> str:
    """Give value, limit and unit: ``2.2, limit 2.5 L/min``; empty where there is neither."""
    value, limit, unit = _value(facts), _limit(facts), _unit(facts)
    said = ", ".join([*([value] if value else []), *([f"limit {limit}"] if limit else [])])
    return f"{said} {unit}".rstrip() if said else ""


@dataclass(frozen=True, slots=True)
class _Parts:
    """The parts of a text. ``title`` has its numbers in it while ``numbers`` is empty."""

    head: str
    title: str
    bare: str
    numbers: str
    own_numbers: str
    since: str
    holder: str
    short_holder: str
    rung: str
    why: str
    ring: str
    last: str

    @classmethod
    def of(cls, facts: PageFacts, zone: tzinfo, test: bool) -> "_Parts":
        marks = [_TEST] if test else []
        if facts.origin in _MARKS:
            marks.append(_MARKS[facts.origin])
        priority = facts.priority.upper() + (" CRITICAL" if facts.circuit_critical else "")
        title, numbers = plain(facts.title), numbers_of(facts)
        bare = " ".join(word for word in title.split() if not any(char.isdigit() for char in word))
        told = _tells_all(title, facts)
        last = facts.last_reading_at
        return cls(
            head=" ".join([*marks, facts.bed or "Unit", f"{priority}:"]),
            title=f"{title} {_unit(facts)}".rstrip() if told else title,
            bare=bare.strip(" ,:%-"),
            numbers="" if told else numbers,
            own_numbers=numbers,
            since=f"since {_wall(facts.since, facts.at, zone)}.",
            holder=f"{plain(facts.holder)} has it." if facts.holder else "Nobody has it.",
            short_holder="Somebody has it." if facts.holder else "Nobody has it.",
            rung=RUNG_LABEL[facts.rung],
            why=facts.why.value,
            ring=f"Ring {plain(facts.phone)}." if plain(facts.phone) else "",
            last=f"Last reading {_wall(last, facts.at, zone)}." if last is not None else "",
        )

    def ever_shorter(self) -> Iterator["_Parts"]:
        """Give the text whole, then with one thing less each time."""
        one = self
        yield one
        yield (one := replace(one, rung=""))
        yield (one := replace(one, why=""))
        yield (one := replace(one, holder=one.short_holder))
        words = one.bare.split()
        for kept in range(len(words), -1, -1):
            yield (one := replace(one, title=" ".join(words[:kept]).rstrip(",:"), numbers=one.own_numbers))
        yield replace(one, last="")

    def text(self) -> str:
        what = f"{self.title}: {self.numbers}" if self.title and self.numbers else self.title or self.numbers
        called = ", ".join(part for part in (self.rung, self.why) if part)
        called = f"{called[:1].upper()}{called[1:]}." if called else ""
        parts = (self.head, what, self.since, self.holder, called, self.ring, self.last)
        return " ".join(part for part in parts if part)


def _tells_all(title: str, facts: PageFacts) -> bool:
    """Tell whether a title ends with its numbers, value and limit both, so that the unit can follow them."""
    words = [word.strip(",:;") for word in title.split()]
    wanted = [one for one in (_value(facts), _limit(facts)) if one]
    return not wanted or (all(one in words for one in wanted) and words[-1] == wanted[-1])


def _value(facts: PageFacts) -> str:
    return "" if facts.value is None else plain(number(facts.value, _decimals(facts)))


def _limit(facts: PageFacts) -> str:
    return "" if facts.limit is None else plain(number(facts.limit, _decimals(facts)))


def _decimals(facts: PageFacts) -> int:
    return CATALOGUE[facts.quantity].decimals if facts.quantity is not None else 0


def _unit(facts: PageFacts) -> str:
    if facts.quantity is None or (facts.value is None and facts.limit is None):
        return ""
    return plain(CATALOGUE[facts.quantity].unit)


def _wall(at: Instant, now: Instant, zone: tzinfo) -> str:
    """Give hh:mm; with the day where it is not of the last 24 hours."""
    return clock_of(at, zone) if abs(now - at) < 24 * HOUR else dated(at, zone)
