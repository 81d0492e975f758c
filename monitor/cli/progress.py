"""How far a long work is, on standard error: a line for each tenth, and none at all for a short one."""

import sys


class Progress:
    """Tells how much of ``whole`` is done. Less than ``short`` is done without a word."""

    def __init__(self, what: str, whole: int, short: int) -> None:
        self._what, self._whole = what, whole
        self._told = 0 if whole >= short else 10

    def at(self, done: int) -> None:
        """Say that so much is done, if another tenth is over."""
        tenth = 10 * done // self._whole if self._whole else 10
        if tenth > self._told:
            self._told = tenth
            print(f"{self._what}: {min(tenth, 10) * 10} %", file=sys.stderr, flush=True)


class Tenths:
    """Tells of several works, one after the other, each by its name."""

    #: Pages or entries from which on it is told: some tenths of a second's work.
    _SHORT = 25_000

    def __init__(self) -> None:
        self._works: dict[str, Progress] = {}

    def at(self, what: str, done: int, whole: int) -> None:
        """Say that so much of ``what`` is done."""
        self._works.setdefault(what, Progress(what, whole, self._SHORT)).at(done)


class Counting:
    """Tells now and then how many are done of a work whose length nobody knows."""

    def __init__(self, what: str) -> None:
        self._what = what

    def at(self, done: int) -> None:
        """Say that so many are done."""
        print(f"{self._what}: {done}", file=sys.stderr, flush=True)
