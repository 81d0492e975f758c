"""`monitor pictures`: draw the diagrams from their tables, and take the pictures of README and manual."""

import argparse
import hashlib
import json
import os
import sys
from pathlib import Path

from monitor.cli.diagrams import diagrams
from monitor.cli.paths import CONFIG, ROOT
from monitor.settings import load_limits_and_ladder
from shared.errors import ConfigurationError

#: Where the diagrams stand that `DEVELOPERS.md` shows, below the root.
DIAGRAMS = Path("monitor/core/pictures")
#: What stands on each picture in words: when it differs from what is painted now, the picture is old.
WORDS = Path("monitor/manual/pictures/words.json")
#: The keyword of a picture's own text under which it says of which words it is the picture.
DIGEST = "words-sha256"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Draw the state machines and the ladder from their tables, and take every picture of README and manual "
        "from invented data, at a fixed hour. Says which files have changed."
    )
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")
    parser.add_argument("--root", type=Path, default=ROOT, metavar="DIR", help="default: this program's own folder")
    parser.add_argument("--diagrams", action="store_true", help="the diagrams alone, which takes a second")


def run(args: argparse.Namespace) -> int:
    """Write every picture, and name the files that have changed.

    Raises:
        ConfigurationError: the configuration is wrong, or a folder cannot be written.
    """
    drawn = diagrams(load_limits_and_ladder(args.config)[1])
    try:
        for name, text in drawn.items():
            _write(args.root / DIAGRAMS / name, text.encode())
        if not args.diagrams:
            _take_pictures(args.config, args.root)
    except OSError as error:
        raise ConfigurationError(f"--root {args.root}: cannot be written: {error}") from None
    return 0


def digest_of(words: list[str]) -> str:
    """Give the digest by which a picture says of which words it is."""
    return hashlib.sha256("\n".join(words).encode()).hexdigest()


def _take_pictures(config: Path, root: Path) -> None:
    os.environ["QT_QPA_PLATFORM"] = "offscreen"  # the same on every machine, and no screen is needed
    from PySide6.QtWidgets import QApplication

    from monitor.cli.manual.document import MANUAL, manual_text
    from monitor.cli.manual.light_png import light_png
    from monitor.cli.manual.picturing import taken

    application = QApplication.instance() or QApplication(sys.argv[:1])
    _write(root / MANUAL, manual_text(root).encode())
    words: dict[str, list[str]] = {}
    for one in taken(config):
        words[one.name] = one.words
        _write(root / one.name, light_png(one.image, {DIGEST: digest_of(one.words)}))
    _write(root / WORDS, (json.dumps(words, indent=1, ensure_ascii=False) + "\n").encode())
    del application


def _write(path: Path, content: bytes) -> None:
    if path.is_file() and path.read_bytes() == content:
        return
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    print(path, flush=True)
