"""Where the parts of a bed page stand on a small screen: everything that is judged together, without a tab.

Four columns as on a wide page, each divided by what its cards say they need: trends above what stands at the bed
and the ages of its devices; numbers above blood; operating point above pattern; who has it above the events.
"""

from dataclasses import dataclass

from PySide6.QtCore import QRect

from monitor.desk.bedpage.acts_bar import BAR_H
from monitor.desk.bedpage.layout import LEAST_MEASURED, LEAST_TRENDS, MARGIN, Room, Shape
from monitor.desk.bedpage.trend_key import KEY_H
from shared.look.screen import here

GAP, HEAD_H, CHANGES_H, STRIP_H = 6, 50, 50, 32
#: What a picture of the operating point needs with its title, axes and a line of words; more than the most is idle.
POINT_LEAST, POINT_MOST = 150, 330
#: The ladder with its names, who has it and the answers.
WHO_LEAST, WHO_MOST = 362, 432
#: What stands at the bed takes at most this share of its column.
_STANDS_AT_MOST = 0.3


@dataclass(frozen=True, slots=True)
class Wants:
    """Heights that cards need at their widths, in pixels."""

    stands: int
    ages: int
    pattern: int
    events: int


@dataclass(frozen=True, slots=True)
class Columns:
    """Widths of trends, numbers, what they mean, and people."""

    trends: int
    numbers: int
    meaning: int
    people: int


def columns_of(wide: int) -> Columns:
    """Give the widths in a page so wide."""
    inner = wide - 2 * MARGIN - 3 * GAP
    people, numbers, meaning = round(inner * 0.219), round(inner * 0.213), round(inner * 0.25)
    return Columns(inner - people - numbers - meaning, numbers, meaning, people)


def dense_room(wide: int, high: int, wants: Wants) -> Room:
    """Place everything in a page of this size."""
    columns = columns_of(wide)
    inner = wide - 2 * MARGIN
    edge = wide - MARGIN - columns.people
    top = 2 + HEAD_H + GAP
    strips = top + CHANGES_H + GAP
    strip = max(STRIP_H, here().aim)  # tabs and windows are aimed at
    body = strips + strip + 4
    floor = high - 6 - BAR_H - GAP
    below, full = floor - body, high - 6 - top  # people have the whole height: answers are as large as a finger
    ages = min(wants.ages, below)
    stands = min(wants.stands, _most_for_standing(below, ages))
    trends = below - ages - GAP - (stands + GAP if stands else 0)
    second = MARGIN + columns.trends + GAP
    third = second + columns.numbers + GAP
    pattern = min(wants.pattern, below - GAP - POINT_LEAST)
    pattern = max(pattern, below - GAP - POINT_MOST)
    who = min(WHO_MOST, max(WHO_LEAST, full - GAP - wants.events))
    return Room(
        head=QRect(MARGIN, 2, inner, HEAD_H),
        changes=QRect(MARGIN, top, inner - columns.people - GAP, CHANGES_H),
        windows=QRect(MARGIN, strips, columns.trends, strip),
        tabs=QRect(second, strips, columns.numbers + GAP + columns.meaning, strip),
        trends=QRect(MARGIN, body, columns.trends, trends),
        standing=QRect(MARGIN, floor - ages - GAP - stands, columns.trends, stands),
        ages=QRect(MARGIN, floor - ages, columns.trends, ages),
        deck=QRect(second, body, columns.numbers, below),
        point=QRect(third, body, columns.meaning, below - GAP - pattern),
        pattern=QRect(third, floor - pattern, columns.meaning, pattern),
        who=QRect(edge, top, columns.people, who),
        events=QRect(edge, top + who + GAP, columns.people, full - who - GAP),
        acts=QRect(MARGIN, high - 6 - BAR_H, inner - columns.people - GAP, BAR_H),
        shape=Shape.DENSE,
    )


def _most_for_standing(below: int, ages: int) -> int:
    """All trends stand where they can; where more stands at the bed, those that were measured do."""
    over = below - ages - 2 * GAP - KEY_H
    share = round(below * _STANDS_AT_MOST)
    return max(0, over - LEAST_TRENDS, min(share, over - LEAST_MEASURED))
