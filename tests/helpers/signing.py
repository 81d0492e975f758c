"""A hub that asks for secrets, and a desk that signs in. All names and secrets are invented."""

from functools import cache
from pathlib import Path
from typing import Any

import pytest

from monitor.core.commands import COMMANDS
from monitor.core.wire import CommandAnswer, GiveCommand
from monitor.settings.people_file import Known, PeopleFile, SignInSettings, write_people
from monitor.settings.secret_hash import hashed
from shared.keys import Keys
from shared.sign_in import SignedIn, SignIn
from tests.helpers.hub import DeskEnd, Rig

SECRETS = {"charge-2": "2580", "nurse-1": "1470", "nurse-2": "3690", "perfusionist-1": "7531"}


@cache
def _hash(secret: str) -> str:
    return hashed(secret)


def people(folder: Path, secrets: dict[str, str] = SECRETS, revoked: str = "", **settings: Any) -> None:
    """Write a people.toml."""
    pytest.importorskip("argon2", reason="argon2-cffi of requirements.lock is not installed: ./weirkeeper setup")
    known = tuple(Known(name=name, secret=_hash(s), revoked=name == revoked) for name, s in secrets.items())
    write_people(folder, PeopleFile(sign_in=SignInSettings(**{"without_secret": False, **settings}), person=known))


class SigningDesk:
    """A desk of a rig that signs people in and gives commands."""

    def __init__(self, rig: Rig, keys: Keys | None = None) -> None:
        self.rig = rig
        self.end: DeskEnd = rig.desk(keys)
        self._given = 0

    def sign_in(self, person: str, secret: str) -> SignedIn:
        """Sign in and give the hub's answer."""
        self._given += 1
        request = f"sign-{id(self)}-{self._given}"
        self.end.ask.say("desk", SignIn(request=request, person=person, secret=secret))
        self.rig.until(lambda: any(one.request == request for one in self.end.ask.of(SignedIn)))
        answer: SignedIn = next(one for one in self.end.ask.of(SignedIn) if one.request == request)
        return answer

    def give(
        self, session: str, person: str, kind: str = "care_marker", second_session: str = "", **fields: Any
    ) -> CommandAnswer:
        """Give a command and give the hub's answer."""
        self._given += 1
        said = {"kind": kind, "id": f"give-{id(self)}-{self._given}", "person": person, **fields}
        if kind == "care_marker":
            said = {"bed": "B1", "minutes": 1, **said}
        command = COMMANDS.validate_python(said, strict=False)
        self.end.ask.say("desk", GiveCommand(command=command, session=session, second=second_session))
        self.rig.until(lambda: any(one.id == command.id for one in self.end.ask.of(CommandAnswer)))
        answer: CommandAnswer = next(one for one in self.end.ask.of(CommandAnswer) if one.id == command.id)
        return answer

    def session(self, person: str) -> str:
        """Sign in with the right secret."""
        answer = self.sign_in(person, SECRETS[person])
        assert answer.session, answer.reason
        return answer.session
