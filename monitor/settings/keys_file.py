"""``keys.toml``: which peers the network knows, by their public keys. It holds nothing secret.

A feed's key says for which beds it may speak, a station's which roles may act from it. A folder without this file
has no keys, and its hub stays on its own machine.
"""

import os
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Annotated, Any

from pydantic import AwareDatetime, Field

from monitor.core.grades import Role
from monitor.core.model import Frozen
from monitor.settings.key_names import KEYS
from monitor.settings.people_file import write_whole
from shared.instant import Instant
from shared.keys import fingerprint
from shared.messages import BedLabel, Name
from shared.written.faults import Fault, SettingsError, unreadable
from shared.written.reading import Source, fit, read_source
from shared.written.tables import named_twice, tables_at, words_in

ALL = "all"
_OTHERS_MAY_WRITE = 0o022
_HEAD = (
    "# Keys of the network: which feeds and stations the hub hears. Written by `weirkeeper keys`; nothing in it\n"
    "# is secret. A hub that runs follows a change within a second.\n"
)

PublicKey = Annotated[str, Field(pattern=r"^[0-9A-Za-z.:+=^!/*?&<>()\[\]{}@%$#-]{40}$")]


class PeerKey(Frozen):
    """What every key has. From ``revoked`` on, which may lie ahead, nothing is heard from it."""

    name: Name
    public: PublicKey
    since: AwareDatetime
    revoked: AwareDatetime | None = None

    @property
    def fingerprint(self) -> str:
        """The short name of the key."""
        return fingerprint(self.public)

    def is_allowed(self, at: Instant) -> bool:
        """Tell whether it is heard at a moment, ms since 1970 UTC by the wall clock."""
        return self.revoked is None or at < self.revoked.timestamp() * 1000


class FeedKey(PeerKey):
    """The key of a feed. ``by_hand``: people type its sets, so it asks who may enter where, and signs people in."""

    beds: tuple[BedLabel, ...] = Field(min_length=1, max_length=256)
    by_hand: bool = False

    def speaks_for(self, bed: str) -> bool:
        """Tell whether it may speak for a bed."""
        return bed in self.beds or ALL in self.beds


class StationKey(PeerKey):
    """The key of a desk, at the station or elsewhere."""

    roles: tuple[Role, ...] = Field(min_length=1)


class KeysFile(Frozen):
    """The whole of ``keys.toml``."""

    feeds: tuple[FeedKey, ...] = Field(default=(), max_length=500, alias="feed")
    stations: tuple[StationKey, ...] = Field(default=(), max_length=500, alias="station")

    def rows(self) -> Iterator[FeedKey | StationKey]:
        """Give all keys, feeds first."""
        yield from chain(self.feeds, self.stations)

    def standing(self, name: str) -> FeedKey | StationKey | None:
        """Give the key of a name that nobody has revoked or will revoke."""
        return next((row for row in self.rows() if row.name == name and row.revoked is None), None)

    def with_key(self, row: FeedKey | StationKey) -> "KeysFile":
        """Give the file with one more key."""
        if isinstance(row, FeedKey):
            return self.model_copy(update={"feeds": (*self.feeds, row)})
        return self.model_copy(update={"stations": (*self.stations, row)})

    def ended(self, name: str, at: datetime) -> "KeysFile":
        """Give the file with every key of a name refused from a moment on, if not before."""

        def end(rows: Iterable[Any]) -> tuple[Any, ...]:
            return tuple(
                row.model_copy(update={"revoked": at})
                if row.name == name and (row.revoked is None or row.revoked > at)
                else row
                for row in rows
            )

        return self.model_copy(update={"feeds": end(self.feeds), "stations": end(self.stations)})


def load_keys_file(folder: Path, beds: Iterable[str] | None = None) -> KeysFile | None:
    """Read the keys of a configuration folder; ``None`` where it has none.

    Args:
        beds: labels of the unit's beds; ``None``: they are not looked at.

    Raises:
        SettingsError: with the faults of the file, each with its line; also where others may write it.
    """
    path = folder / KEYS
    try:
        found = path.stat()
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        raise unreadable(KEYS, error) from None
    if found.st_mode & _OTHERS_MAY_WRITE or found.st_uid != os.geteuid():
        mode = f"{found.st_mode & 0o777:04o}"
        wrong = f"others may write it (mode {mode}): chown it to who runs this, then chmod 600 {KEYS}"
        raise SettingsError([Fault(file=KEYS, line=1, wrong=wrong)])
    known = [] if beds is None else [*beds, ALL]
    return fit(read_source(text, KEYS), KeysFile, partial(_between, beds=known))


def _between(source: Source, beds: list[str]) -> Iterator[Fault]:
    """Find what no table can say by itself: a name or a key that stands twice, a bed that is not there."""
    seen: dict[str, str] = {}
    kinds: dict[str, str] = {}
    for kind in ("feed", "station"):
        yield from named_twice(source, (kind,), "public", "this key")
        for place, table in tables_at(source, (kind,)):
            name, public = table.get("name"), table.get("public")
            if not isinstance(name, str):
                continue
            if kinds.setdefault(name, kind) != kind:
                yield source.fault((*place, "name"), "a feed and a station have this name", "a name of its own")
            elif "revoked" not in table and seen.setdefault(name, str(public)) != public:
                yield source.fault((*place, "name"), "another key of this name stands unrevoked", "one for a name")
            for bed in words_in(table, "beds"):
                if beds and bed not in beds:
                    yield source.fault((*place, "beds"), f"there is no bed {bed} in this unit", ", ".join(beds))


def write_keys_file(folder: Path, keys: KeysFile) -> None:
    """Write the file in one step. Raises OSError."""
    lines = [_HEAD]
    for row in keys.rows():
        lines += ["[[feed]]" if isinstance(row, FeedKey) else "[[station]]"]
        lines += [f'name = "{row.name}"', f'public = "{row.public}"', f"since = {_written(row.since)}"]
        if isinstance(row, FeedKey):
            lines += [_list("beds", row.beds)]
            lines += ["by_hand = true"] if row.by_hand else []
        else:
            lines += [_list("roles", row.roles)]
        lines += [f"revoked = {_written(row.revoked)}"] if row.revoked is not None else []
        lines += [""]
    write_whole(folder / KEYS, "\n".join(lines), 0o600)


def _list(key: str, words: Iterable[str]) -> str:
    return f"{key} = [" + ", ".join(f'"{word}"' for word in words) + "]"


def _written(moment: datetime) -> str:
    return moment.astimezone(UTC).strftime("%Y-%m-%dT%H:%M:%SZ")
