"""Where the shipped files are, whatever folder a command is called from."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CONFIG = ROOT / "config"
#: The unit's own configuration, in the folder where a command is called; a station's first start writes it.
OWN = "unit"


def own_or_shipped() -> Path:
    """Give the unit's own configuration where there is one, else the shipped one."""
    return Path(OWN) if (Path(OWN) / "unit.toml").exists() else CONFIG
