"""What a hub has made by other processes. Nothing of their work is imported: a hub needs neither paper nor Qt."""

import sys
from pathlib import Path

#: Two days of downtime sheets.
KEPT = 48
#: A card goes back over a shift of the usual length.
_CARD_HOURS = 12


def card_command(record: Path) -> tuple[str, ...]:
    """Give the command by which a hub has the figures of the handover cards made from its record."""
    what = ("report", str(record.resolve()), "--hours", str(_CARD_HOURS), "--cards", "--json")
    return sys.executable, "-m", "monitor", *what
