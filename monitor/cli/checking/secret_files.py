"""The secret keys of a unit's folder: whether each is its owner's alone, and what to do where it is not."""

import os
from pathlib import Path

from monitor.cli.checking.found import Found
from monitor.core.endpoints import Endpoints
from monitor.settings.key_names import FOLDER, HUB, KEYS, PUBLIC, SECRET
from shared.keys import not_private, stays_here


def keys_found(folder: Path, endpoints: Endpoints) -> Found:
    """Look at the key files beside ``keys.toml``."""
    if not (folder / KEYS).exists():
        away = [address for address in endpoints.model_dump().values() if not stays_here(address)]
        if away:
            said = f"NONE, and {away[0]} leaves this machine: no hub starts. weirkeeper keys --config {folder} hub"
            return Found("Keys", (f"{said} makes them.",), is_wrong=True)
        return Found("Keys", ("none: hub, feeds and desks stay on this machine",))
    secrets = sorted((folder / FOLDER).glob(f"*{SECRET}"))
    wrong = [f"{FOLDER}/{path.name}: {said}" for path in secrets if (said := _wrong_with(path))]
    for name in (f"{HUB}{SECRET}", f"{HUB}{PUBLIC}"):
        if not (folder / FOLDER / name).exists():
            do = f"bring it back, or make another pair: weirkeeper keys --config {folder} rotate {HUB}"
            wrong.append(f"{FOLDER}/{name} IS MISSING: no hub starts. {do}")
    if wrong:
        return Found("Keys", tuple(wrong), is_wrong=True)
    return Found("Keys", (f"{len(secrets)} secret in {FOLDER}, each its owner's alone",))


def _wrong_with(path: Path) -> str:
    try:
        found = path.stat()
    except OSError as error:
        return f"cannot be looked at: {error.strerror or error}"
    return not_private(found.st_mode, found.st_uid, os.geteuid())
