"""Lists of which a few rows have room at once: which of them, and how a step goes on."""

from shared.language.saying import say


def turned(first: int, by: int, fits: int, count: int) -> int:
    """Give the first row after a step by so many pages of ``fits`` rows; it goes round."""
    pages = max(1, -(-count // fits))
    return (first // fits + by) % pages * fits


def which_of(first: int, shown: int, count: int) -> str:
    """Say which rows stand here, and how the others are seen."""
    return say("{first} to {last} of {all}: up, down", first=first + 1, last=first + shown, all=count)
