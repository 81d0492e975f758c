"""What a screen looks like, told so that it can be stored: its words and marks with place and colours, and a coarse
picture of its grounds. ``python -m tests.helpers.looks`` writes `tests/gui/looks` anew, and says what changed.

Two tellings are alike where a person would see the same: a pixel's shift or other antialiasing is no difference; a
mark that is missing, a colour swapped, a word cut or another unit is one.
"""

import os
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from shared.look.colour import difference
from tests.helpers.painting import Picture
from tests.helpers.shown import Seen, Shown

FOLDER = Path(__file__).parents[1] / "gui" / "looks"
SIZE, BEDS = (1366, 768), 6
SCREENS = ("board", "quiet", "far", "blind", "not live", "empty", "first run", "bed", "due", "review")
THEMES = ("day", "night")
_ACROSS, _DOWN = 16, 9
#: Pixels that a thing may have moved; steps of CIEDE2000 that a colour, or the mean of a coarse cell, may differ.
_MOVED, _COLOUR, _CELL = 5, 6.0, 3.0
#: How much of its width a text or mark may have lost.
_LOST = 0.3
_SEPARATOR = " | "


@dataclass(frozen=True)
class Thing:
    """A word or mark as stored."""

    owner: str
    kind: str
    what: str
    x: int
    y: int
    ink: str
    ground: str
    inked: float

    @property
    def key(self) -> tuple[str, str, str]:
        """What it is, wherever it stands."""
        return self.owner, self.kind, self.what

    def __str__(self) -> str:
        return f"{self.owner}: {self.kind} {self.what!r} at {self.x},{self.y}"


@dataclass(frozen=True)
class Look:
    """A screen as stored: mean colours of its cells, row by row, and what stands on it."""

    cells: tuple[tuple[str, ...], ...]
    things: tuple[Thing, ...]

    def written(self) -> str:
        """Give the text of its file."""
        rows = [" ".join(row) for row in self.cells]
        lines = [
            _SEPARATOR.join(
                (one.owner, one.kind, one.what, f"{one.x},{one.y}", one.ink, one.ground, f"{one.inked:.2f}")
            )
            for one in self.things
        ]
        return "\n".join([*rows, "", *lines]) + "\n"


def read(text: str) -> Look:
    """Read a file of looks."""
    head, _, body = text.partition("\n\n")
    things = []
    for line in body.splitlines():
        owner, kind, what, place, ink, ground, inked = line.split(_SEPARATOR)
        x, y = place.split(",")
        things.append(Thing(owner, kind, what, int(x), int(y), ink, ground, float(inked)))
    return Look(tuple(tuple(row.split()) for row in head.splitlines()), tuple(things))


def look_of(shown: Shown) -> Look:
    """Tell what a window shows."""
    return Look(_cells(shown.picture), tuple(_thing(one) for one in shown.things))


def differences(stored: Look, now: Look) -> list[str]:
    """Name what a person would see differently."""
    found = [
        f"the ground about {x}/{_ACROSS}, {y}/{_DOWN} was {was}, is {one}"
        for y, (row, row_was) in enumerate(zip(now.cells, stored.cells, strict=True))
        for x, (one, was) in enumerate(zip(row, row_was, strict=True))
        if difference(one, was) > _CELL
    ]
    left = list(now.things)
    for was in stored.things:
        same = [one for one in left if one.key == was.key]
        if not same:
            found.append(f"missing: {was}")
            continue
        one = min(same, key=lambda other, was=was: abs(other.x - was.x) + abs(other.y - was.y))  # type: ignore[misc]
        left.remove(one)
        found += _changed(was, one)
    return found + [f"new: {one}" for one in left]


def _changed(was: Thing, one: Thing) -> list[str]:
    found = []
    if max(abs(one.x - was.x), abs(one.y - was.y)) > _MOVED:
        found.append(f"moved: {was} to {one.x},{one.y}")
    for what, before, now in (("ink", was.ink, one.ink), ("ground", was.ground, one.ground)):
        if difference(before, now) > _COLOUR:
            found.append(f"{what}: {was} was {before}, is {now}")
    if one.inked < was.inked - _LOST:
        found.append(f"cut: {was}, {one.inked:.2f} of it where it was {was.inked:.2f}")
    return found


def _thing(one: Seen) -> Thing:
    kind = ("mark" if one.is_mark else "bold" if one.bold else "text") + ("" if one.whole else " cut")
    what = one.what.replace("\n", " / ").replace(_SEPARATOR, " / ")
    ground = one.grounds[0] if one.grounds else "#000000"
    return Thing(
        one.owner, kind, what, round(one.box.left()), round(one.box.top()), one.ink.upper(), ground, one.inked
    )


def _cells(picture: Picture) -> tuple[tuple[str, ...], ...]:
    rows = np.array_split(np.arange(picture.shape[0]), _DOWN)
    columns = np.array_split(np.arange(picture.shape[1]), _ACROSS)
    means = [[picture[np.ix_(y, x)].reshape(-1, 3).mean(axis=0) for x in columns] for y in rows]
    return tuple(tuple("#" + "".join(f"{round(float(c)):02X}" for c in one) for one in row) for row in means)


def file_of(name: str, theme: str) -> Path:
    """Give where a look is stored."""
    return FOLDER / f"{name.replace(' ', '_')}_{theme}.txt"


def main() -> None:
    """Write them anew and say what changed."""
    environment = os.environ | {"WEIRKEEPER_STORE_LOOKS": "1"}
    test = str(FOLDER.parent / "test_looks.py")
    words = [sys.executable, "-m", "pytest", "-q", "-s", "-p", "no:xdist", test, "-k", "means_what_it_meant"]
    sys.exit(subprocess.run(words, env=environment, check=False).returncode)


if __name__ == "__main__":
    main()
