"""A guard over the Qt binding: a void call may not take a reference to None away.

PySide6 6.12.0 on Python 3.11 loses one with every void call, and the interpreter ends ("none_dealloc") within the
first ticks of a board. Measured on 6.12.0 and on 6.11.3; from Python 3.12 on None is immortal (PEP 683).
"""

import ctypes
import sys
from collections.abc import Callable

import pytest
from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

CALLS = 100
SLACK = 10
"""Other code may let go of a few references to None meanwhile; the fault loses one with each call."""

VOID: dict[str, Callable[[QWidget, QTimer], object]] = {
    "update": lambda widget, timer: widget.update(),
    "resize": lambda widget, timer: widget.resize(40, 30),
    "setVisible": lambda widget, timer: widget.setVisible(False),
    "setObjectName": lambda widget, timer: widget.setObjectName("one"),
    "stop": lambda widget, timer: timer.stop(),
}


def lost_by(call: Callable[[], object]) -> int:
    """Give how many references to None went away over the calls."""
    call()
    before = sys.getrefcount(None)
    for _ in range(CALLS):
        call()
    return before - sys.getrefcount(None)


@pytest.mark.parametrize("name", VOID)
def test_that_a_void_qt_call_takes_no_reference_to_none(qtbot: QtBot, name: str) -> None:
    widget, timer = QWidget(), QTimer()
    qtbot.addWidget(widget)
    assert lost_by(lambda: VOID[name](widget, timer)) < SLACK


@pytest.mark.skipif(sys.version_info >= (3, 12), reason="None is immortal from Python 3.12 on")
def test_that_the_guard_notices_references_that_are_taken() -> None:
    none = ctypes.py_object(None)
    try:
        lost = lost_by(lambda: ctypes.pythonapi.Py_DecRef(none))
    finally:
        for _ in range(CALLS + 1):
            ctypes.pythonapi.Py_IncRef(none)
    assert lost >= CALLS - SLACK
