"""A naive ladder: what is due now is worked out anew, each time, from the whole history of an episode.

Written from the table of the ladder and its sentences, without a line of the engine. A history is a list of marks
in the order in which they happened; nothing else is remembered. Times are whole seconds.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

#: Class -> seconds of rungs 1 to 5, first repeat, repeats every, whether all are called again.
TABLE: dict[str, tuple[tuple[int | None, ...], int, int, bool]] = {
    "two witnesses": ((0, 0, 0, 0, 120), 180, 60, True),
    "one witness": ((0, 0, 0, 60, 120), 180, 60, True),
    "patient": ((0, 60, 120, 120, 300), 420, 120, True),
    "high": ((0, 60, 120, 180, 300), 420, 120, True),
    "medium": ((0, 180, 480, 900, None), 1500, 600, False),
    "console": ((0, 180, 300, None, None), 780, 600, False),
    "feed": ((0, 180, None, None, None), 780, 600, False),
    "cover": ((None, 0, None, None, None), 780, 600, False),
}
NEVER = -1

#: Who stands on a rung now; True asks for the deputy too.
Who = Callable[[int, bool], list[str]]


@dataclass(frozen=True)
class Mark:
    """Something in the history: ``at``, what, and whatever belongs to it."""

    at: int
    what: str
    row: str = ""
    rung: int = 0
    time: int = 0
    rungs: tuple[int, ...] = ()


@dataclass
class Reading:
    """What a history amounts to at its end."""

    row: str = ""
    zero: dict[str, int] = field(default_factory=dict)
    done: dict[str, set[int]] = field(default_factory=dict)
    repeated: dict[str, int] = field(default_factory=dict)
    called: set[int] = field(default_factory=set)
    skipped: set[int] = field(default_factory=set)
    early: dict[int, int] = field(default_factory=dict)
    not_before: dict[int, int] = field(default_factory=dict)
    held: int | None = None
    exempt: set[int] = field(default_factory=set)

    def time(self, rung: int) -> int | None:
        return TABLE[self.row][0][rung - 1]

    def take_in(self, mark: Mark) -> None:
        match mark.what:
            case "start":
                self._class(mark.row, mark.at)
            case "promoted":
                self._class(mark.row, mark.at)
                self.early, self.not_before, self.held, self.exempt = {}, {}, None, set()
            case "drop":
                if mark.row not in self.zero:
                    self._class(mark.row, mark.time)
                self.row = mark.row
                self.done[self.row] |= self.called | self.skipped
                self.repeated[self.row] = mark.at
            case "second witness":
                zero, done, repeated = self.zero[self.row], self.done[self.row], self.repeated[self.row]
                self._class(mark.row, zero)
                self.done[mark.row], self.repeated[mark.row] = set(done), repeated
                self.exempt.add(4)
            case "hold":
                self.held, self.exempt = mark.time, set(mark.rungs)
            case "renewed":
                self.held = mark.time
            case "free":
                self.held, self.exempt = None, set()
            case "hold ended":
                self._resume(mark.at)
            case "advice":
                self.not_before[4] = mark.time
            case "forward":
                self.early[mark.rung] = min(mark.time, self.early.get(mark.rung, mark.time))
                if mark.what == "forward" and mark.rungs:
                    self.not_before.pop(mark.rung, None)
            case "passed on":
                self.early[mark.rung] = min(mark.time, self.early.get(mark.rung, mark.time))
                self.not_before.pop(mark.rung, None)
                self.zero[self.row] = max(self.zero[self.row], mark.at - (self.time(mark.rung) or 0))
            case "called":
                self.called.add(mark.rung)
            case "done":
                self.done[self.row].add(mark.rung)
                self.skipped.discard(mark.rung)
            case "skipped":
                self.done[self.row].add(mark.rung)
                self.skipped.add(mark.rung)
            case "repeat":
                self.repeated[self.row] = mark.at
            case _:
                raise ValueError(mark.what)

    def _class(self, row: str, zero: int) -> None:
        self.row = row
        self.zero[row], self.done[row], self.repeated[row] = zero, set(), NEVER

    def _resume(self, now: int) -> None:
        """All rungs called so far are called by whoever ended the hold; later rungs keep their distance."""
        self.held, self.exempt = None, set()
        reached = [rung for rung in self.called if self.time(rung) is not None]
        if reached:
            top = max(reached)
            self.zero[self.row] = now - (self.time(top) or 0)
            self.done[self.row] = {rung for rung in range(1, top + 1) if self.time(rung) is not None}
            self.repeated[self.row] = NEVER
            self.early = {}

    def pending(self) -> list[tuple[int, int]]:
        """Give (when, rung) of the rungs that are still to be called and not held."""
        found = []
        for rung in range(1, 6):
            seconds = self.time(rung)
            if seconds is None or rung in self.done[self.row]:
                continue
            if self.held is not None and rung not in self.exempt:
                continue
            at = min(self.zero[self.row] + seconds, self.early.get(rung, self.zero[self.row] + seconds))
            found.append((max(at, self.not_before.get(rung, at)), rung))
        return sorted(found)

    def repeat_due(self, now: int) -> bool:
        """Tell whether a repeat that was not made has its time by now."""
        _, first, every, _ = TABLE[self.row]
        due = self.zero[self.row] + first
        while due <= self.repeated[self.row]:
            due += every
        return self.held is None and due <= now


def read(history: list[Mark]) -> Reading:
    reading = Reading()
    for mark in history:
        reading.take_in(mark)
    return reading


#: A call or a skip: (rung, person); nobody: skipped.
Act = tuple[int, str | None]


def hold_is_over(history: list[Mark], now: int) -> bool:
    held = read(history).held
    return held is not None and held <= now


def end_hold(history: list[Mark], now: int, who: Who) -> Iterator[Act]:
    """Call everybody called so far."""
    history.append(Mark(now, "hold ended"))
    reading = read(history)
    for rung in sorted(reading.called):
        if reading.time(rung) is not None:
            yield from _again(history, now, rung, who)


def climb(history: list[Mark], now: int, who: Who) -> Iterator[Act]:
    """Do whatever is due by now, one thing after another; the end of a hold is not this function's."""
    while True:
        reading = read(history)
        due = [pair for pair in reading.pending() if pair[0] <= now]
        repeat = reading.repeat_due(now)
        if due:
            yield from _reach(history, now, due[0][1], who)
        elif repeat:
            history.append(Mark(now, "repeat"))
            everybody = TABLE[reading.row][3]
            if everybody:
                for rung in sorted(reading.called):
                    yield from _again(history, now, rung, who)
            else:
                yield from _again_at_charge(history, now, who)
        else:
            return


def pass_on(history: list[Mark], now: int) -> None:
    """The next rung now; what a hold kept back comes after it at the table's distance."""
    pending = read(history).pending()
    if pending:
        history.append(Mark(now, "passed on", rung=pending[0][1], time=now, rungs=(1,)))


def _reach(history: list[Mark], now: int, rung: int, who: Who) -> Iterator[Act]:
    reading = read(history)
    if who(rung, False):
        history.append(Mark(now, "done", rung=rung))
        yield from _call(history, now, rung, who(rung, False))
        return
    history.append(Mark(now, "skipped", rung=rung))
    yield rung, None
    done = reading.done[reading.row]
    for above in range(rung + 1, 6):
        if reading.time(above) is not None and above not in done and who(above, False):
            history.append(Mark(now, "done", rung=above))
            yield from _call(history, now, above, who(above, False))
            return
    for below in range(rung - 1, 0, -1):
        if who(below, False):
            yield from _call(history, now, below, who(below, True))
            return


def _again_at_charge(history: list[Mark], now: int, who: Who) -> Iterator[Act]:
    reading = read(history)
    higher = [rung for rung in range(3, 6) if reading.time(rung) is not None and who(rung, False)]
    if who(2, False) or not higher:
        yield from _again(history, now, 2, who)
        return
    yield 2, None
    yield from _call(history, now, higher[0], who(higher[0], False))


def _again(history: list[Mark], now: int, rung: int, who: Who) -> Iterator[Act]:
    """Call a rung again; where nobody stands there any more, the rung below that has somebody."""
    if not who(rung, False):
        yield rung, None
    for filled in range(rung, 0, -1):
        if who(filled, False):
            yield from _call(history, now, filled, who(filled, False))
            return


def _call(history: list[Mark], now: int, rung: int, people: list[str]) -> Iterator[Act]:
    history.append(Mark(now, "called", rung=rung))
    for person in people:
        yield rung, person
