"""Courses that are played once in a run of the tests, however many files and processes ask for them.

Where several processes run the tests, what was played is kept in a folder of this run of pytest, which they share;
pytest itself removes it.
"""

import os
import pickle
from collections.abc import Callable
from pathlib import Path
from tempfile import NamedTemporaryFile

from monitor.core.entries import Entry

_folders: list[Path] = []


def keep_in(folder: Path) -> None:
    """Keep what is played in a folder, from now on; without one nothing is kept."""
    folder.mkdir(parents=True, exist_ok=True)
    _folders[:] = [folder]


def once(name: str, play: Callable[[], tuple[Entry, ...]]) -> tuple[Entry, ...]:
    """Give what this run has played under a name, or play it."""
    if not _folders:
        return play()
    path = _folders[0] / name
    if path.exists():
        kept: tuple[Entry, ...] = pickle.loads(path.read_bytes())
        return kept
    played = play()
    with NamedTemporaryFile(dir=_folders[0], delete=False) as half:
        half.write(pickle.dumps(played))
    os.replace(half.name, path)  # whole or not at all: the other process may look at any moment
    return played
