"""The open recordings that some checks read, and the one reason for which such a check is left out.

Source: PhysioNet/Computing in Cardiology Challenge 2009, numerics of MIMIC II, reformatted (Goldberger AL et al.,
Circulation 101(23):e215-e220, 2000; Saeed M et al., Crit Care Med 39(5):952-960, 2011). The project carries none of
these files, and has to pass without them: ``WEIRKEEPER_DATA`` names the folder above theirs.
"""

import gzip
import os
from functools import cache
from pathlib import Path

import pytest

from shared.recording_map import parse_map

ROOT = Path(__file__).parents[2]
DATA = Path(os.environ.get("WEIRKEEPER_DATA", ROOT.parent / "shared" / "data")) / "icu_numerics"
FILES = sorted(DATA.glob("*.csv.gz"))
MAP_FILE = ROOT / "config" / "maps" / "icu_numerics.toml"
MAP = parse_map(MAP_FILE.read_text())

at_hand = pytest.mark.skipif(
    not FILES, reason="the open recordings are no part of the project; WEIRKEEPER_DATA names their folder"
)


def path_of(record: str) -> Path:
    """Give the file of a record."""
    return DATA / f"{record}_reformatted.csv.gz"


@cache
def lines(record: str) -> list[str]:
    """Give the lines of a record."""
    with gzip.open(path_of(record), "rt", encoding="utf-8") as file:
        return file.read().splitlines()
