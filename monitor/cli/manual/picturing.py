"""Going through the steps and taking what is to be kept: each picture, and what stands on it in words."""

import tempfile
from collections.abc import Iterator
from contextlib import AbstractContextManager
from dataclasses import dataclass
from pathlib import Path

from PySide6.QtGui import QImage
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from monitor.cli.manual.courses import Course, day, night
from monitor.cli.manual.marks_sheet import sheet
from monitor.cli.manual.scenes import DAY, MARKS, NIGHT, Step
from monitor.cli.manual.seen import seen_on


@dataclass(frozen=True, slots=True)
class Taken:
    """A picture as it was taken. ``name``: its file, from the root of the program."""

    name: str
    image: QImage
    words: list[str]


def taken(shipped: Path) -> Iterator[Taken]:
    """Go through all steps and give each picture. Needs a QApplication, best on Qt's offscreen platform.

    Raises:
        ConfigurationError: the shipped folder is wrong.
    """
    for begin, steps in ((day, DAY), (night, NIGHT)):
        with tempfile.TemporaryDirectory(prefix="weirkeeper-pictures-") as folder:
            yield from _course(begin(shipped, Path(folder)), steps, shipped)
    for theme, name in MARKS.items():
        shown = sheet(theme)
        yield Taken(name, shown.grab().toImage(), seen_on(shown))


def _course(begun: AbstractContextManager[Course], steps: tuple[Step, ...], shipped: Path) -> Iterator[Taken]:
    with begun as course:
        for step in steps:
            if step.review:
                course.open(shipped, "day", review=True)
            found = _step(course, step)
            if found is not None:
                yield found


def _step(course: Course, step: Step) -> Taken | None:
    unit, window = course.unit, course.unit.window
    if step.is_cut is not None:
        unit.is_cut = step.is_cut
    if step.at is not None:
        course.play_to(step.at)
    if step.theme:
        window.set_theme(step.theme)
    window.resize(*step.size)
    unit.keys(step.keys)
    if step.rests_ms:
        QTest.qWait(step.rests_ms)
    course.play_on(step.waits)
    if not step.picture:
        return None
    QApplication.processEvents()
    return Taken(step.picture, window.grab().toImage(), seen_on(window))
