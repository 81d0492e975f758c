"""The unit's emergency cards: one file each in ``cards/``, named by its file, in the order of their numbers."""

import re
from pathlib import Path

from monitor.core.emergency_cards import CardsFound, EmergencyCard
from monitor.settings.loading import CARDS, Faults, names_in, read
from shared.written.faults import Fault, SettingsError
from shared.written.reading import fit, read_source

_NAME = re.compile(r"[a-z][a-z0-9_]{1,39}")


def cards_in(folder: Path) -> CardsFound:
    """Read the cards of a configuration folder; a folder without any has none. One that is wrong hides no other."""
    pot = Faults()
    found: dict[str, EmergencyCard] = {}
    for file in names_in(folder, CARDS):
        name = Path(file).stem
        card = pot.gather(lambda file=file: load_card(read(folder, file), file))  # type: ignore[misc]
        if card is None:
            continue
        taken = next((other for other, known in found.items() if known.number == card.number), None)
        if taken is not None:
            wrong = f"{CARDS}/{taken}.toml has this number too: each card has its own key"
            pot.found.append(
                Fault(file=file, line=_line(folder, file), path=("number",), value=card.number, wrong=wrong)
            )
        else:
            found[name] = card
    faults = sorted(pot.found, key=lambda fault: (fault.file, fault.line, str(fault)))
    return CardsFound(dict(sorted(found.items(), key=lambda one: one[1].number)), tuple(faults))


def load_card(text: str, file: str) -> EmergencyCard:
    """Read the text of a card. Raises SettingsError with all faults, each at its line."""
    if not _NAME.fullmatch(Path(file).stem):
        wrong = "a card's file is named in small letters, digits and _, such as pump_stop.toml"
        raise SettingsError([Fault(file=file, line=1, wrong=wrong)])
    return fit(read_source(text, file), EmergencyCard)


def _line(folder: Path, file: str) -> int:
    return read_source(read(folder, file), file).fault(("number",), "").line
