"""The four files of a configuration: unit, limits, ladder, and one file for each pump profile."""

from pathlib import Path

from monitor.core.ladder_table import LadderTable
from monitor.core.rules import Limits
from monitor.core.unit import Configuration, Unit
from monitor.settings.unit_file import UnitFile
from shared.circuit import PumpProfile
from shared.errors import ConfigurationError
from shared.toml_text import parse_toml


def load_limits(text: str, name: str) -> Limits:
    """Read the text of ``limits.toml``; ``name`` is the file in an error."""
    return parse_toml(text, Limits, name)


def load_ladder(text: str, name: str) -> LadderTable:
    """Read the text of ``ladder.toml``."""
    return parse_toml(text, LadderTable, name)


def load_unit(text: str, name: str) -> Unit:
    """Read the text of ``unit.toml``."""
    return parse_toml(text, UnitFile, name).unit()


def load_profiles(folder: Path) -> dict[str, PumpProfile]:
    """Read every pump profile of a configuration folder, by name."""
    files = sorted((folder / "pumps").glob("*.toml"))
    profiles = [PumpProfile.from_toml_text(read(path)) for path in files]
    return {profile.name: profile for profile in profiles}


def load_configuration(folder: Path) -> Configuration:
    """Read a whole configuration folder."""
    return Configuration(
        unit=load_unit(read(folder / "unit.toml"), "unit.toml"),
        limits=load_limits(read(folder / "limits.toml"), "limits.toml"),
        ladder=load_ladder(read(folder / "ladder.toml"), "ladder.toml"),
    )


def load_limits_and_ladder(folder: Path) -> tuple[Limits, LadderTable]:
    """Read what a rehearsal needs: a scenario brings its own beds and people."""
    limits = load_limits(read(folder / "limits.toml"), "limits.toml")
    return limits, load_ladder(read(folder / "ladder.toml"), "ladder.toml")


def read(path: Path) -> str:
    """Read a file. Raises ConfigurationError where it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"{path}: cannot be read: {error}") from None
