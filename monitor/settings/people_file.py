"""``people.toml``: who signs in with which secret, as salted hashes. It is never part of the record.

Names and roles stand in ``unit.toml``; a folder without this file asks for no secrets, and a desk says so. Only its
owner may read it.
"""

import os
import tempfile
from collections.abc import Iterator
from pathlib import Path

from pydantic import Field

from monitor.core.model import Frozen
from shared.messages import Name
from shared.written.faults import Fault, SettingsError
from shared.written.reading import Source, fit, read_source
from shared.written.tables import tables_at

PEOPLE = "people.toml"
_OWNER_ONLY = 0o077
_HEAD = (
    "# Secrets of the people who sign in, as salted hashes. Written by `weirkeeper people`; names and roles stand\n"
    "# in unit.toml. Only its owner may read it, and it goes into no record, bundle or backup.\n\n"
)


class SignInSettings(Frozen):
    """How people sign in.

    Attributes:
        required: a secret is asked for; false: names alone.
        without_secret: a name that has no secret yet may act all the same.
        idle_min: a desk forgets who sits there after so many minutes without a key.
        longest_h: a session ends after so many hours.
    """

    required: bool = True
    without_secret: bool = True
    idle_min: float = Field(default=15, ge=1, le=720)
    longest_h: float = Field(default=13, ge=1, le=48)


class Known(Frozen):
    """What is known of one name. ``revoked``: nothing more is accepted under it but help by hand."""

    name: Name
    secret: str = Field(default="", max_length=200, pattern=r"^(\$argon2id\$.+)?$", repr=False)
    revoked: bool = False


class PeopleFile(Frozen):
    """The whole of ``people.toml``."""

    sign_in: SignInSettings = SignInSettings()
    people: tuple[Known, ...] = Field(default=(), max_length=500, alias="person")

    def known(self, name: str) -> Known | None:
        """Give what is known of a name."""
        return next((one for one in self.people if one.name == name), None)

    def with_known(self, known: Known) -> "PeopleFile":
        """Give the file with what is now known of a name."""
        others = tuple(one for one in self.people if one.name != known.name)
        return self.model_copy(update={"people": tuple(sorted((*others, known), key=lambda one: one.name))})


def load_people(folder: Path) -> PeopleFile | None:
    """Read the secrets of a configuration folder; ``None`` where it has none.

    Raises:
        SettingsError: with the faults of the file, each with its line; also where others may read it.
    """
    path = folder / PEOPLE
    try:
        mode = path.stat().st_mode
        text = path.read_text(encoding="utf-8")
    except FileNotFoundError:
        return None
    except (OSError, UnicodeDecodeError) as error:
        wrong = f"cannot be read: {error.strerror if isinstance(error, OSError) else 'this is not UTF-8 text'}"
        raise SettingsError([Fault(file=PEOPLE, line=1, wrong=wrong)]) from None
    if mode & _OWNER_ONLY:
        wrong = f"others than its owner may read it (mode {mode & 0o777:04o}): chmod 600 {PEOPLE}"
        raise SettingsError([Fault(file=PEOPLE, line=1, wrong=wrong)])
    return fit(read_source(text, PEOPLE), PeopleFile, _names_once)


def _names_once(source: Source) -> Iterator[Fault]:
    seen: set[object] = set()
    for place, values in tables_at(source, ("person",)):
        name = values.get("name")
        if name in seen:
            yield source.fault((*place, "name"), "this name stands here twice", "each name once")
        seen.add(name)


def write_people(folder: Path, people: PeopleFile) -> None:
    """Write the file in one step, for its owner alone. Raises OSError."""
    settings = people.sign_in
    lines = [
        "[sign_in]",
        f"required = {_flag(settings.required)}",
        f"without_secret = {_flag(settings.without_secret)}",
        f"idle_min = {settings.idle_min:g}",
        f"longest_h = {settings.longest_h:g}",
    ]
    for known in people.people:
        lines += ["", "[[person]]", f'name = "{known.name}"']
        lines += [f'secret = "{known.secret}"'] if known.secret else []
        lines += ["revoked = true"] if known.revoked else []
    write_whole(folder / PEOPLE, _HEAD + "\n".join(lines) + "\n", 0o600)


def write_whole(path: Path, text: str, mode: int) -> None:
    """Write a file in one step, so that whoever reads it finds the old or the new text. Raises OSError."""
    number, name = tempfile.mkstemp(dir=path.parent, prefix=f".{path.name}.")
    try:
        with os.fdopen(number, "w", encoding="utf-8") as file:
            os.fchmod(file.fileno(), mode)
            file.write(text)
            file.flush()
            os.fsync(file.fileno())
        Path(name).replace(path)
    except BaseException:
        Path(name).unlink(missing_ok=True)
        raise


def _flag(on: bool) -> str:
    return "true" if on else "false"
