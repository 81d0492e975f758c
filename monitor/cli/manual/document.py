"""The manual as a document: its table of keys is made from the desk's own map, never typed."""

from pathlib import Path

from monitor.cli.paths import ROOT
from monitor.desk.key_map import KEYS, STAFF
from shared.errors import ConfigurationError

#: The manual, below the root.
MANUAL = Path("monitor/manual/MANUAL.md")
_BEGIN, _END = "<!-- keys: made by ./weirkeeper pictures from the desk's own map -->", "<!-- end of keys -->"


def manual_text(root: Path = ROOT) -> str:
    """Give the manual with the keys as they are now.

    Raises:
        ConfigurationError: the file cannot be read, or has no place for the keys.
    """
    path = root / MANUAL
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(f"{path}: cannot be read: {error}") from None
    before, begin, rest = text.partition(_BEGIN)
    _, end, after = rest.partition(_END)
    if not begin or not end:
        raise ConfigurationError(f"{path}: the lines between which the keys stand are not there")
    return f"{before}{_BEGIN}\n{keys_table()}\n{STAFF}\n\n{_END}{after}"


def keys_table() -> str:
    """Give the desk's map of keys as a table in Markdown."""
    rows = "".join(f"| {key} | {words} |\n" for key, words in KEYS)
    return f"\n| key | what |\n|---|---|\n{rows}"
