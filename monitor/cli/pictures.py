"""`monitor pictures`: draw the diagrams of the manual from the tables that they show."""

import argparse
from pathlib import Path

from monitor.cli.diagrams import diagrams
from monitor.cli.paths import CONFIG, ROOT
from monitor.settings import load_limits_and_ladder
from shared.errors import ConfigurationError

#: Where the diagrams stand that `DEVELOPERS.md` shows.
PICTURES = ROOT / "monitor" / "core" / "pictures"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")
    parser.add_argument("--into", type=Path, default=PICTURES, metavar="DIR", help="default: those of the manual")


def run(args: argparse.Namespace) -> int:
    """Write every diagram, and name the files that have changed.

    Raises:
        ConfigurationError: the configuration is wrong, or the folder cannot be written.
    """
    drawn = diagrams(load_limits_and_ladder(args.config)[1])
    try:
        args.into.mkdir(parents=True, exist_ok=True)
        for name, text in drawn.items():
            path = args.into / name
            if path.is_file() and path.read_text(encoding="utf-8") == text:
                continue
            path.write_text(text, encoding="utf-8")
            print(path)
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"--into {args.into}: cannot be written: {error}") from None
    return 0
