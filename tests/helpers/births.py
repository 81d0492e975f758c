"""Where threads and contexts came from: the line of the caller that made each, kept while it lives."""

import threading
import traceback
from pathlib import Path
from typing import Any
from weakref import WeakKeyDictionary

import zmq

ROOT = Path(__file__).resolve().parents[2]

_birthplaces: "WeakKeyDictionary[object, str]" = WeakKeyDictionary()
_contexts: "WeakKeyDictionary[zmq.Context[zmq.Socket[bytes]], None]" = WeakKeyDictionary()


def birthplace(thing: object) -> str:
    """Give the file and line that made it, or say that it is not known."""
    return _birthplaces.get(thing, "an unknown place")


def contexts() -> set["zmq.Context[zmq.Socket[bytes]]"]:
    """Give the ZeroMQ contexts that are alive and not terminated. A socket left open keeps its context here."""
    return {context for context in _contexts if not context.closed}


def _here() -> str:
    """Give the innermost line of this project on the stack."""
    for frame in reversed(traceback.extract_stack()):
        path = Path(frame.filename)
        if path.is_relative_to(ROOT) and ".venv" not in path.parts and path != Path(__file__):
            return f"{path.relative_to(ROOT)}:{frame.lineno}"
    return "an unknown place"


def watch() -> None:
    """Note the birth of every thread and of every ZeroMQ context from now on. Call once."""
    start = threading.Thread.start
    make = zmq.Context.__init__

    def noted_start(self: threading.Thread) -> None:
        _birthplaces[self] = _here()
        start(self)

    def noted_make(self: "zmq.Context[zmq.Socket[bytes]]", *args: Any, **named: Any) -> None:
        make(self, *args, **named)
        _birthplaces[self] = _here()
        _contexts[self] = None

    setattr(threading.Thread, "start", noted_start)  # noqa: B010  # mypy forbids the plain assignment
    setattr(zmq.Context, "__init__", noted_make)  # noqa: B010
