"""What stands on a window in words and marks: kept beside a picture, to know when it has become old."""

from collections.abc import Iterator

from PySide6.QtWidgets import QAbstractButton, QLabel, QLineEdit, QWidget

from monitor.desk.aloud import plain
from monitor.desk.paint.noted import painted_on
from shared.look.marks import Mark


def seen_on(window: QWidget) -> list[str]:
    """Give every text and mark of the visible parts of a window; a mark stands in angle brackets."""
    found = []
    for part in (window, *window.findChildren(QWidget)):
        if part is window or (part.isVisible() and not part.size().isEmpty()):
            found += [one for one in _on(part) if one]
    return found


def _on(part: QWidget) -> Iterator[str]:
    if isinstance(part, QLabel | QAbstractButton | QLineEdit):
        yield plain(part.text().replace("&&", "&"))
    elif type(part).__module__.startswith("monitor.desk.") and type(part).paintEvent is not QWidget.paintEvent:
        for one in painted_on(part):
            yield f"<{one.value}>" if isinstance(one, Mark) else plain(one)
