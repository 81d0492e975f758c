"""Which remembered minutes are learned from: not the newest, so that what begins now is not at once what is usual.

A wrong flow sensor that taught the estimate at once would agree with it a minute later. How much is left out is
chosen here.
"""

from collections.abc import Sequence

from monitor.analysis.worked import Worked

#: Minutes, and share of the time since the oldest minute, that are left out.
HELD_BACK, HELD_BACK_SHARE = 30, 1.0 / 3.0


def before_now(rows: Sequence[Worked], number: int) -> list[Worked]:
    """Give the minutes from which the flow of minute ``number`` is learned.

    Half an hour is left out, or the last third where that is less: a flow is told from the first hour on.
    """
    return _before(rows, number - min(HELD_BACK, _third(rows, number)))


def long_before(rows: Sequence[Worked], number: int) -> list[Worked]:
    """Give the minutes with a current from which that of minute ``number`` is expected.

    Half an hour is left out, or the last third where that is more: a clot grows over hours.
    """
    known = [row for row in rows if row.current is not None]
    return _before(known, number - max(HELD_BACK, _third(known, number)))


def _third(rows: Sequence[Worked], number: int) -> int:
    return round(HELD_BACK_SHARE * (number - rows[0].number)) if rows else 0


def _before(rows: Sequence[Worked], number: int) -> list[Worked]:
    return [row for row in rows if row.number < number]
