"""Where the parts of a bed page stand on a window narrower than any screen, as one of 1366 is with text of 200 %.

The need, who has it with the answers, what changed first and the first numbers; all else is a tab, the trends too.
"""

from PySide6.QtCore import QRect

from monitor.desk.bedpage.dense import HEAD_H, STRIP_H
from monitor.desk.bedpage.layout import MARGIN, Room, Shape

_GAP, _CHANGES_H = 6, 28
#: Under a strip, where the page is lower than this, all stands closer.
_LOW, _LOW_GAP, _LOW_STRIP_H = 260, 3, 26
_PEOPLE, _PEOPLE_LEAST = 0.42, 280


def slim_room(wide: int, high: int) -> Room:
    """Place everything."""
    inner = wide - 2 * MARGIN
    gap, strip = (_LOW_GAP, _LOW_STRIP_H) if high < _LOW else (_GAP, STRIP_H)
    people = max(_PEOPLE_LEAST, round(inner * _PEOPLE))
    left = inner - people - gap
    top = 2 + HEAD_H + gap
    changes = top + strip + gap
    body, floor = changes + _CHANGES_H + gap, high - gap
    nothing = QRect()
    return Room(
        head=QRect(MARGIN, 2, inner, HEAD_H),
        tabs=QRect(MARGIN, top, left, strip),
        changes=QRect(MARGIN, changes, left, _CHANGES_H),
        windows=nothing,
        trends=nothing,
        standing=nothing,
        deck=QRect(MARGIN, body, left, floor - body),
        point=nothing,
        pattern=nothing,
        who=QRect(wide - MARGIN - people, top, people, floor - top),
        events=nothing,
        acts=nothing,
        shape=Shape.SLIM,
    )
