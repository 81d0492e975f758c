"""The binding of Qt keeps the count of references to None.

Measured: PySide6 6.12.0 on Python 3.11 loses one reference on each call that gives nothing back; the process aborts
with "none_dealloc" once the count is used up. 6.11.3 keeps it.
"""

import sys

import pytest
from PySide6.QtWidgets import QWidget
from pytestqt.qtbot import QtBot

CALLS = 100
STRAY = 10
"""References that other parts of the process may take or drop meanwhile; a tenth of the fault looked for."""


def test_that_void_calls_of_qt_keep_every_reference_to_none(qtbot: QtBot) -> None:
    if sys.version_info >= (3, 12):
        pytest.skip("None is immortal from Python 3.12 on (PEP 683): there is no count to lose")
    widget = QWidget()
    qtbot.addWidget(widget)
    before = sys.getrefcount(None)
    for _ in range(CALLS):
        widget.update()
    assert abs(sys.getrefcount(None) - before) < STRAY
