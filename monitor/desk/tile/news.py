"""What of a tile's change is told to whoever has it read out: once a change of its needs, never as time passes."""

from PySide6.QtGui import QAccessible

from monitor.core.grades import Priority
from monitor.desk.tile.face import Face


def news_of(before: Face | None, face: Face) -> QAccessible.Event | None:
    """Say how a change is told: a new high that nobody has interrupts. Nothing where only time has passed."""
    if before is not None and _told(before) == _told(face):
        return None
    if face.need.blinks is not Priority.HIGH:
        return QAccessible.Event.NameChanged
    stood = before is not None and before.need.blinks is Priority.HIGH and before.need.title == face.need.title
    return QAccessible.Event.NameChanged if stood else QAccessible.Event.Alert


def _told(face: Face) -> tuple[object, ...]:
    """Give what does not change with time alone."""
    need = face.need
    title = need.title if need.need is not None else ""
    return face.bed, need.need, need.mark, title, need.held, need.more, need.blinks, face.foot.kind, face.veiled
