"""Which test modules are the engine's own: those that import `monitor.core`, and neither screen, hub nor sockets.

``python -m tests.helpers.engine_tests`` prints them. A rehearsed course passes many lines by the way and asserts
little of them, so the courses are left out.
"""

import ast
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
ROOMS = ("monitor", "property", "published", "shared")
ENGINE = "monitor.core"
BEYOND = ("PySide6", "pytestqt", "zmq", "feeds", "monitor.desk", "monitor.hub", "monitor.cli", "monitor.reports")
COURSES = "test_rehearse_"


def engine_tests() -> list[Path]:
    """Give the test modules, from the root of the project, in order."""
    found = (path for room in ROOMS for path in sorted((ROOT / "tests" / room).glob("test_*.py")))
    return [path.relative_to(ROOT) for path in found if _is_one(path)]


def _is_one(path: Path) -> bool:
    names = _imported(path)
    beyond = any(_within(name, room) for name in names for room in BEYOND)
    return any(_within(name, ENGINE) for name in names) and not beyond and not path.name.startswith(COURSES)


@cache
def _imported(path: Path) -> frozenset[str]:
    """Give the names that a test module imports, and those of the helpers and modules of tests that it imports."""
    found: set[str] = set()
    for name in _names(path):
        found.add(name)
        other = ROOT / f"{name.replace('.', '/')}.py"
        if _within(name, "tests") and other.exists():
            found |= _imported(other)
    return frozenset(found)


def _names(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text())):
        if isinstance(node, ast.ImportFrom) and node.module is not None:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)
        elif isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)


def _within(name: str, room: str) -> bool:
    return name == room or name.startswith(f"{room}.")


if __name__ == "__main__":
    sys.stdout.write("".join(f"{path}\n" for path in engine_tests()))
