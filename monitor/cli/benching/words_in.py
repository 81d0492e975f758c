"""Words on standard input, heard by Qt's loop; an answer is a JSON object on a line of standard output."""

import json
import sys
from collections.abc import Callable, Mapping
from typing import Any

from PySide6.QtCore import QObject, QSocketNotifier

Answers = Mapping[str, Callable[[], dict[str, Any]]]


class WordsIn(QObject):
    """Answers each word by its function; at the end of the input it does nothing more."""

    def __init__(self, answers: Answers, parent: QObject | None = None) -> None:
        super().__init__(parent)
        self._answers = answers
        self._notifier = QSocketNotifier(sys.stdin.fileno(), QSocketNotifier.Type.Read, self)
        self._notifier.activated.connect(self._hear)

    def _hear(self) -> None:
        word = sys.stdin.readline().strip()
        if not word:
            self._notifier.setEnabled(False)
            return
        say(self._answers[word]())


def say(answer: dict[str, Any]) -> None:
    """Write a line."""
    sys.stdout.write(json.dumps(answer) + "\n")
    sys.stdout.flush()
