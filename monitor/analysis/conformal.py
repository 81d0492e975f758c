"""How wide an interval must be: from how far minutes were off that had been left out, block by block.

As in conformal prediction (Vovk et al. 2005) with what is left out in turn (Barber et al. 2021, CV+). Minutes near
each other are alike, so that whole blocks are left out, never single minutes.
"""

import math
from collections.abc import Iterator, Sequence
from statistics import NormalDist

#: Least and most minutes of one block, and how many times some blocks are left out at most.
SHORT_BLOCK, LONG_BLOCK, FOLDS = 5, 15, 4
#: Share of minutes that an interval should hold.
LEVEL = 0.90


def blocks_of(numbers: Sequence[int]) -> list[int]:
    """Give the block of each minute, by its number; blocks are longer where minutes span more."""
    span = max(numbers) - min(numbers) if numbers else 0
    width = min(LONG_BLOCK, max(SHORT_BLOCK, span // FOLDS))
    return [number // width for number in numbers]


def folds_of(blocks: Sequence[int]) -> Iterator[tuple[list[int], list[int]]]:
    """Give places to learn from, and places left out, some whole blocks at a time; each is left out once."""
    turn = {block: place % FOLDS for place, block in enumerate(sorted(set(blocks)))}
    for fold in range(min(FOLDS, len(turn))):
        left = [place for place, block in enumerate(blocks) if turn[block] == fold]
        kept = [place for place, block in enumerate(blocks) if turn[block] != fold]
        if kept:
            yield kept, left


def quantile_of(scores: Sequence[float], level: float = LEVEL) -> float | None:
    """Give the score that a new one stays below with ``level``; ``None`` with too few of them to tell.

    The k-th smallest of n, k = ceil((n + 1) level), as in split conformal prediction.
    """
    place = math.ceil((len(scores) + 1) * level - 1e-9)
    return float(sorted(scores)[place - 1]) if 0 < place <= len(scores) else None


def few(independent: float, level: float = LEVEL) -> float:
    """Give by how much an interval is wider where its width was found from so few ``independent`` minutes.

    Student's quantile over the normal one, by its expansion in 1/n (Abramowitz & Stegun 26.7.5, three terms).
    """
    n, z = max(2.0, independent), NormalDist().inv_cdf((1.0 + level) / 2.0)
    first = (z**2 + 1.0) / (4.0 * n)
    second = (5.0 * z**4 + 16.0 * z**2 + 3.0) / (96.0 * n**2)
    third = (3.0 * z**6 + 19.0 * z**4 + 17.0 * z**2 - 15.0) / (384.0 * n**3)
    return 1.0 + first + second + third
