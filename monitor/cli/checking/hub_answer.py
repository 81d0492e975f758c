"""Whether the unit's hub answers where the configuration has it, asked as a desk asks, and what to do where not."""

import queue
import time
from collections.abc import Mapping
from pathlib import Path
from types import MappingProxyType

from monitor.cli.checking.found import Found
from monitor.core.endpoints import Endpoints
from monitor.core.unit import Unit
from monitor.core.view import UnitView
from monitor.core.wire import Snapshot
from monitor.desk import words
from monitor.desk.client import Client
from monitor.desk.hearing import Heard
from monitor.desk.reach import Reach, Reached
from monitor.settings.key_files import load_keys
from monitor.settings.key_names import FOLDER, HUB, KEYS, PUBLIC, SECRET
from shared.errors import ConfigurationError
from shared.keys import Keys, reached_at

#: So long a hub is waited for, seconds: it answers within a turn of 0.1 s, a line of 64 kbit/s within three.
WITHIN_S = 4.0
#: After these nothing else is to be heard; a stranger may still turn out to be a hub that has keys.
_LAST_WORD = frozenset({Reach.NO_NAME, Reach.NOTHING, Reach.UNLIKE, Reach.REFUSED})
_STATION = "station"
_DO: Mapping[Reach, str] = MappingProxyType(
    {
        Reach.LOOKING: "Look at the address ([endpoints]) and the network.",
        Reach.NO_NAME: "Put its name right in [endpoints], or give the machine's number.",
        Reach.NOTHING: "No hub runs there now: weirkeeper station, or hub, starts it.",
        Reach.STRANGER: f"It is no hub, or another than that of {FOLDER}/{HUB}{PUBLIC}: look what runs there.",
        Reach.UNLIKE: "The hub was started before keys were made or taken away: start it anew.",
        Reach.REFUSED: f"{FOLDER}/{_STATION}{SECRET} is not on its list: weirkeeper keys list.",
        Reach.CONNECTED: "Look at its log beside the record; start it anew.",
    }
)


def hub_found(unit: Unit, folder: Path, within_s: float = WITHIN_S) -> Found:
    """Ask the hub of a unit for everything as it stands, with the key of the desk on its own machine."""
    at = reached_at(unit.endpoints.commands)
    try:
        keys = _keys_in(folder)
        answer = ask(unit.endpoints, keys, within_s)
    except ConfigurationError as error:
        return Found("Hub", (f"{at}: not asked, {error}",), is_wrong=True)
    if isinstance(answer, Reach):
        said = "no answer" if answer is Reach.LOOKING else answer.value
        return Found("Hub", (f"{at}: {said}. {_DO[answer]}",), is_wrong=answer is not Reach.NOTHING)
    if answer.name != unit.name:
        do = "Give this unit addresses of its own ([endpoints])."
        return Found("Hub", (f"{at}: the hub of ANOTHER UNIT answers there, {answer.name}. {do}",), is_wrong=True)
    if answer.not_recorded is not None:
        since = words.clock(answer.not_recorded, unit.zone)
        said = f"{at}: it answers. NOT RECORDED since {since}: make room on its disk, look at its log."
        return Found("Hub", (said,), is_wrong=True)
    return Found("Hub", (f"{at}: it answers",))


def ask(endpoints: Endpoints, keys: Keys | None, within_s: float) -> UnitView | Reach:
    """Give what a hub says of its unit, or how far the question got.

    Raises:
        ConfigurationError: an address leaves this machine, and there are no keys.
    """
    heard: queue.SimpleQueue[Heard] = queue.SimpleQueue()
    client = Client(reached_at(endpoints.publish), reached_at(endpoints.commands), heard.put, keys=keys)
    reach, until = Reach.LOOKING, time.monotonic() + within_s
    client.start()
    try:
        while (left := until - time.monotonic()) > 0:
            try:
                message = heard.get(timeout=left).message
            except queue.Empty:
                break
            if isinstance(message, Snapshot):
                return message.unit
            if isinstance(message, Reached):
                reach = message.reach
                if reach in _LAST_WORD:
                    break
    finally:
        client.stop()
    return reach


def _keys_in(folder: Path) -> Keys | None:
    """Give the keys of the desk beside its hub; ``None``: the unit has none. Raises ConfigurationError."""
    if not (folder / KEYS).exists():
        return None
    own = folder / FOLDER / f"{_STATION}{SECRET}"
    if not own.exists():
        raise ConfigurationError(
            "for no desk of this machine has a key: "
            f"weirkeeper keys --config {folder} station {_STATION} --roles all"
        )
    return load_keys(own, folder / FOLDER / f"{HUB}{PUBLIC}")
