"""A key pressed with the pointer or a finger, on what names it: the desk takes it as that key."""

from collections.abc import Mapping

from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import QApplication, QWidget

#: Keys by the names that stand on the screens, in small letters.
_NAMED: Mapping[str, Qt.Key] = {
    "esc": Qt.Key.Key_Escape,
    "escape": Qt.Key.Key_Escape,
    "enter": Qt.Key.Key_Return,
    "space": Qt.Key.Key_Space,
    "page up": Qt.Key.Key_PageUp,
    "page down": Qt.Key.Key_PageDown,
}


def is_a_key(name: str) -> bool:
    """Tell whether a name on the screen is one key, or one pressed twice (``H H``): what can be pressed there."""
    first, *others = name.lower().split()
    return name.lower() in _NAMED or (len(first) == 1 and all(other == first for other in others))


def press(at: QWidget, name: str) -> None:
    """Let the desk on which a widget stands, else its window, take a key by its name, once."""
    desk = at
    while not hasattr(desk, "open_page"):
        above = desk.parentWidget()
        if above is None:
            break
        desk = above
    if not is_a_key(name):
        return
    text = "" if name.lower() in _NAMED else name[0].lower()
    key = _NAMED.get(name.lower(), Qt.Key.Key_unknown)
    if text.isalnum():
        key = Qt.Key(ord(text.upper()))
    QApplication.sendEvent(desk, QKeyEvent(QEvent.Type.KeyPress, key, Qt.KeyboardModifier.NoModifier, text))
