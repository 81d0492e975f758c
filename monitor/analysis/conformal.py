"""How wide an interval must be: from how far minutes were off that had been left out, block by block.

As in conformal prediction (Vovk et al. 2005) with what is left out in turn (Barber et al. 2021, CV+). Minutes near
each other are alike, so that whole blocks are left out, never single minutes.
"""

import math
from collections.abc import Iterator, Sequence

#: Minutes of one block, and how many times some blocks are left out at most.
BLOCK_MINUTES, FOLDS = 5, 6
#: Share of minutes that an interval should hold.
LEVEL = 0.90


def blocks_of(numbers: Sequence[int]) -> list[int]:
    """Give the block of each minute, by its number."""
    return [number // BLOCK_MINUTES for number in numbers]


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
    place = math.ceil((len(scores) + 1) * level)
    return sorted(scores)[place - 1] if 0 < place <= len(scores) else None
