"""Where the shipped files are, whatever folder a command is called from."""

from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CONFIG = ROOT / "config"
