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
