"""The fewest things that still fail: parts are left out, smaller and smaller ones, while it goes on failing."""

from collections.abc import Callable, Sequence
from typing import TypeVar

T = TypeVar("T")


def shrink(things: Sequence[T], fails: Callable[[Sequence[T]], bool], most: int = 300) -> list[T]:
    """Give the fewest of ``things``, in their order, with which it still fails.

    Without any one of them it no longer fails, unless ``most`` tries were not enough.
    """
    left, part, tries = list(things), max(1, len(things) // 2), 0
    while left and tries < most:
        begin, found = 0, False
        while begin < len(left) and tries < most:
            without = left[:begin] + left[begin + part :]
            tries += 1
            if fails(without):
                left, found = without, True
            else:
                begin += part
        if part == 1 and not found:
            break
        part = max(1, part // 2)
    return left
