"""What was done in a drill: each need with who was called, who answered, after how long. Facts, and no verdict.

Nothing here says whether a time was good, and no person is counted or compared. A drill stands aside while live
beds want the desk; its beds go on meanwhile, so what was not done then says nothing, and the sheet says when.
"""

import json
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from monitor.core.annunciations import AT_BED, BEGINS, ENDS
from monitor.core.drill import Drill
from monitor.core.entries import Entry, EntryKind
from monitor.core.entry_words import words_of
from monitor.core.grades import RANK, Priority
from monitor.core.model import Frozen
from shared.errors import RecordError
from shared.instant import Instant
from shared.language.saying import say

K = EntryKind
#: The file beside the record in which a desk notes how a drill went on: begun, aside, back, ended.
COURSE = "course.jsonl"
_TAKES = frozenset({K.TAKEN, K.ALSO_RESPONDING})
_ANSWERS = frozenset({K.SEEN, K.TAKEN, K.ALSO_RESPONDING, K.ADVISED, K.DECLINED, K.RENEWED, K.REASON})
_CALLS = frozenset({K.CALLED, K.SKIPPED})
_WENT_ON = frozenset({K.HOLD_ENDED, K.WORSENED, K.NO_ANSWER, K.NOBODY_THERE, K.LATE_ARRIVAL})


class Turn(Frozen):
    """How a drill went on, as its desk noted it."""

    at: Instant
    state: str
    why: str = ""


class Step(Frozen):
    """Something that happened at a need, in words."""

    at: Instant
    words: str


class Met(Frozen):
    """One need: an episode of medium or high priority.

    Attributes:
        priority: the highest that it came to.
        seen, taken, at_bed: the first of each; ``None``: nobody.
        went_on: calls after the first answer and before the first take.
        steps: everything that happened at it, oldest first.
        missed: what nobody did, in words.
    """

    bed: str | None
    title: str
    priority: Priority
    raised: Instant
    seen: Instant | None = None
    taken: Instant | None = None
    at_bed: Instant | None = None
    ended: Instant | None = None
    calls: int = 0
    went_on: int = 0
    steps: tuple[Step, ...] = ()
    missed: tuple[str, ...] = ()


class Done(Frozen):
    """A whole drill; ``lows``: alerts that call nobody; ``other``: what else people wrote down."""

    drill: Drill
    begin: Instant
    end: Instant
    turns: tuple[Turn, ...]
    met: tuple[Met, ...]
    lows: int
    other: tuple[Step, ...]


@dataclass(slots=True)
class _Open:
    bed: str | None
    title: str
    priority: Priority
    raised: Instant
    open: set[int] = field(default_factory=set)
    seen: Instant | None = None
    taken: Instant | None = None
    at_bed: Instant | None = None
    ended: Instant | None = None
    unseen: int = 0
    calls: list[Instant] = field(default_factory=list)
    steps: list[Step] = field(default_factory=list)


def done_of(
    drill: Drill,
    entries: Iterable[Entry],
    turns: Iterable[Turn],
    label: Callable[[str | None], str],
    begin: Instant,
    end: Instant,
) -> Done:
    """Give what was done, from the log of a drill in order."""
    met: dict[int, _Open] = {}
    of_alert: dict[int, int] = {}
    lows, other = 0, list[Step]()
    for entry in entries:
        number = entry.episode if entry.episode is not None else of_alert.get(entry.alert or 0)
        words = words_of(entry, label)
        if entry.kind in BEGINS and number is None:
            lows += 1
        elif entry.kind in BEGINS and number is not None and entry.priority is not None:
            _begins(met, of_alert, number, entry, words)
        elif number in met:
            _goes_on(met[number], entry, words)
        elif entry.person is not None and words and entry.kind is not K.SIGN_IN:
            other.append(Step(at=entry.at, words=" ".join(filter(None, (entry.bed, words)))))
    found = tuple(_met(one, end) for one in met.values())
    return Done(drill=drill, begin=begin, end=end, turns=tuple(turns), met=found, lows=lows, other=tuple(other))


def _begins(met: dict[int, _Open], of_alert: dict[int, int], number: int, entry: Entry, words: str) -> None:
    assert entry.priority is not None
    one = met.setdefault(number, _Open(entry.bed, entry.text or "", entry.priority, entry.at))
    if entry.alert is not None:
        one.open.add(entry.alert)
        of_alert[entry.alert] = number
    one.ended = None
    one.priority = min(one.priority, entry.priority, key=RANK.__getitem__)
    grade = "" if entry.kind is K.PROMOTED else f"{entry.priority.value}: "
    one.steps.append(Step(at=entry.at, words=f"{grade}{words}"))


def _goes_on(one: _Open, entry: Entry, words: str) -> None:
    kind, at = entry.kind, entry.at
    if kind in ENDS:
        one.open.discard(entry.alert or 0)
        one.unseen += kind is K.LATCHED
        one.ended = at if not one.open else None
    if kind is K.REVIEWED:
        one.unseen = max(0, one.unseen - 1)
    if kind in _ANSWERS or kind is K.REVIEWED:
        one.seen = at if one.seen is None else one.seen
    if kind in _TAKES:
        one.taken = at if one.taken is None else one.taken
    if kind in (*_TAKES, K.RENEWED, K.REASON) and (entry.where == "at_bed" or entry.reason in AT_BED):
        one.at_bed = at if one.at_bed is None else one.at_bed
    if kind is K.CALLED:
        one.calls.append(at)
    if words and (kind in _ANSWERS | _CALLS | _WENT_ON | ENDS or kind is K.REVIEWED):
        one.steps.append(Step(at=at, words=words))


def _met(one: _Open, end: Instant) -> Met:
    missed = []
    if one.seen is None:
        missed.append(say("nobody answered it"))
    elif one.taken is None:
        missed.append(say("nobody took it"))
    if one.at_bed is None:
        missed.append(say("nobody said to be at the bed"))
    if one.ended is None:
        missed.append(say("open as the drill ended"))
    elif one.unseen:
        missed.append(say("ended, and not seen since"))
    until = end if one.taken is None else one.taken
    return Met(
        bed=one.bed, title=one.title, priority=one.priority, raised=one.raised,
        seen=one.seen, taken=one.taken, at_bed=one.at_bed, ended=one.ended,
        calls=len(one.calls),
        went_on=sum(one.seen is not None and one.seen < at < until for at in one.calls),
        steps=tuple(one.steps), missed=tuple(missed),
    )  # fmt: skip


def turns_in(folder: Path) -> tuple[Turn, ...]:
    """Read what the desk noted of a drill; a half-written last line, as after a power cut, is left out.

    Raises:
        RecordError: the file cannot be read.
    """
    found: list[Turn] = []
    try:
        lines = (folder / COURSE).read_text(encoding="utf-8").splitlines()
    except FileNotFoundError:
        return ()
    except (OSError, UnicodeDecodeError) as error:
        raise RecordError(f"{folder / COURSE} cannot be read: {error}") from error
    for line in lines:
        try:
            said: Mapping[str, object] = json.loads(line)
            found.append(Turn.model_validate(said))
        except ValueError:
            continue
    return tuple(found)
