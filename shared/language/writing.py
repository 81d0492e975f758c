"""Numbers and days as screens write them in the locale of the unit. The clock has 24 hours in every locale."""

from datetime import date

from shared.language.saying import spoken


def in_marks(plain: str) -> str:
    """Give a number that is written with a decimal point with the mark of the locale; it has no other point."""
    mark = spoken().decimal
    return plain if mark == "." else plain.replace(".", mark)


def number(value: float, decimals: int) -> str:
    """Write a value with so many decimals, and nothing between thousands."""
    return in_marks(f"{value:.{decimals}f}")


def shortest(value: float) -> str:
    """Write a value with no more decimals than it has, at most six digits."""
    return in_marks(f"{value:g}")


def day_of(on: date) -> str:
    """Write a day of the year: ``25 Nov``."""
    language = spoken()
    return language.day.format(day=on.day, month=language.months[on.month - 1])
