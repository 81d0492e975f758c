"""Where the parts of a bed page stand where text is so large that little has room: trends, numbers and who has it.

What changed first is one line; all else that is known of the bed is a tab above, the events too.
"""

from PySide6.QtCore import QRect

from monitor.desk.bedpage.acts_bar import BAR_H
from monitor.desk.bedpage.dense import HEAD_H, STRIP_H
from monitor.desk.bedpage.layout import MARGIN, Room, Shape

_GAP, _CHANGES_H = 6, 28
_PEOPLE, _NUMBERS = 0.3, 0.28
#: What stands at the bed takes at most this share of its column.
_STANDS_AT_MOST = 0.3


def trends_width(wide: int) -> int:
    """Give the width of the column of the trends."""
    inner = wide - 2 * MARGIN
    return inner - round(inner * _PEOPLE) - round(inner * _NUMBERS) - 2 * _GAP


def narrow_room(wide: int, high: int, stands: int) -> Room:
    """Place everything; ``stands``: height that what stands at the bed needs."""
    inner = wide - 2 * MARGIN
    left, people, numbers = trends_width(wide), round(inner * _PEOPLE), round(inner * _NUMBERS)
    tabs = 2 + HEAD_H + _GAP
    top = tabs + STRIP_H + _GAP
    windows = top + _CHANGES_H + _GAP
    body = windows + STRIP_H
    floor = high - 6 - BAR_H - _GAP
    stands = min(stands, round((floor - body) * _STANDS_AT_MOST))
    trends = floor - body - (stands + _GAP if stands else 0)
    edge = wide - MARGIN - people
    return Room(
        head=QRect(MARGIN, 2, inner, HEAD_H),
        tabs=QRect(MARGIN, tabs, inner, STRIP_H),
        changes=QRect(MARGIN, top, inner - people - _GAP, _CHANGES_H),
        windows=QRect(MARGIN, windows, left, STRIP_H),
        trends=QRect(MARGIN, body, left, trends),
        standing=QRect(MARGIN, floor - stands, left, stands),
        deck=QRect(MARGIN + left + _GAP, windows, numbers, floor - windows),
        point=QRect(),
        pattern=QRect(),
        who=QRect(edge, top, people, floor - top),
        events=QRect(),
        acts=QRect(MARGIN, high - 6 - BAR_H, inner, BAR_H),
        shape=Shape.NARROW,
    )
