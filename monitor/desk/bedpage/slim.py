"""Where the parts of a bed page stand on a window narrower than any screen, as one of 1366 is with text of 200 %.

The need, who has it with the answers, what changed first and the first numbers; all else is a tab, the trends too.
"""

from PySide6.QtCore import QRect

from monitor.desk.bedpage.dense import HEAD_H, STRIP_H
from monitor.desk.bedpage.layout import MARGIN, Room, Shape

_GAP, _CHANGES_H = 6, 28
_PEOPLE, _PEOPLE_LEAST = 0.42, 280


def slim_room(wide: int, high: int) -> Room:
    """Place everything."""
    inner = wide - 2 * MARGIN
    people = max(_PEOPLE_LEAST, round(inner * _PEOPLE))
    left = inner - people - _GAP
    top = 2 + HEAD_H + _GAP
    changes = top + STRIP_H + _GAP
    body, floor = changes + _CHANGES_H + _GAP, high - 6
    nothing = QRect()
    return Room(
        head=QRect(MARGIN, 2, inner, HEAD_H),
        tabs=QRect(MARGIN, top, left, STRIP_H),
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
