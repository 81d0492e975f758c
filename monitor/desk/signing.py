"""Signing in at a shared desk: a name by its key, the secret by digits, Enter. The hub alone looks at the secret.

Nothing that was begun is lost: where the hub wants a secret, it is asked for, and what was refused is given again.
The board itself never logs out and never blanks; without a sign-in it shows the same.
"""

import uuid
from collections.abc import Callable
from dataclasses import dataclass

from monitor.core.commands import Command
from monitor.desk.command_life import Life
from monitor.desk.people import People
from monitor.desk.question import Choice, Question
from monitor.desk.session import Session
from monitor.desk.store import Changes
from monitor.desk.typed import SecretField
from shared.language.saying import say, to_say
from shared.sign_in import SignedIn, SignIn, SignOut

ANSWER_WITHIN_S = 5.0
SIGN_OUT = Choice("", to_say("Nobody: sign out"), "-")
_NOBODY_LEARNS = to_say("Digits, then Enter. Escape leaves.")


@dataclass(frozen=True, slots=True)
class _Pending:
    request: str
    name: str
    then: Callable[[], None]
    sent: float
    is_second: bool


class Signing:
    """Asks who sits here and for their secret, and ends the sign-in after a while without a key.

    Args:
        ask: puts a question on the screen.
        tell: says something at the foot of the screen; ``True`` when somebody must act on it.
        give: hands a command to the hub.
        is_asking: whether a question is open.
        monotonic: seconds.
    """

    def __init__(
        self,
        session: Session,
        people: People,
        ask: Callable[[Question], None],
        tell: Callable[[str, bool], None],
        give: Callable[[Command], None],
        is_asking: Callable[[], bool],
        monotonic: Callable[[], float],
    ) -> None:
        self._session = session
        self._people = people
        self._ask = ask
        self._tell = tell
        self._give = give
        self._is_asking = is_asking
        self._monotonic = monotonic
        self._pending: _Pending | None = None
        self._used = monotonic()
        self._asked = ""

    def who(self, then: Callable[[], None]) -> None:
        """Ask who sits here, and for the secret where the unit asks for one; then go on."""

        def chosen(name: str) -> None:
            if not name:
                self.leave()
            elif self._people.asks(name):
                self._secret(name, then)
            else:
                self._sign_out("")
                self._people.sign_in(name)
                then()

        out = (SIGN_OUT,) if self._people.name is not None else ()
        self._ask(
            Question(say("Who are you?"), (*out, *self._people.choices()), chosen, self._people.note(), find=True)
        )

    def _secret(self, name: str, then: Callable[[], None], why: str = "", is_second: bool = False) -> None:
        label = f"{self._session.store.label(name)}{(say(', the second person') if is_second else '')}"
        note = f"{why} {say(_NOBODY_LEARNS)}".strip()
        field = SecretField(say("Secret"))

        def typed(secret: str) -> None:
            self._send(name, secret, then, is_second)

        self._ask(Question(say("{label}: your secret", label=label), (), typed, note, secret=field))

    def _send(self, name: str, typed: str, then: Callable[[], None], is_second: bool) -> None:
        request = uuid.uuid4().hex
        self._pending = _Pending(request, name, then, self._monotonic(), is_second)
        self._session.ask(SignIn(request=request, person=name, secret=typed))

    def heed(self, changes: Changes) -> None:
        """Look at what the hub said: of a secret, or that a command needs one."""
        for reply in changes.replies:
            pending = self._pending
            if isinstance(reply, SignedIn) and pending is not None and reply.request == pending.request:
                self._pending = None
                self._answered(reply, pending)
        given = self._session.store.commands.last() if changes.commands else None
        if given is not None and given.life is Life.REFUSED and given.sign_in and given.command.id != self._asked:
            self._asked = given.command.id
            command = given.command
            is_second = given.sign_in == getattr(command, "second", None)
            again = say("What was given is kept, and given then.")
            self._secret(
                given.sign_in,
                lambda: self._give(command.model_copy(update={"id": uuid.uuid4().hex})),
                again,
                is_second,
            )

    def _answered(self, reply: SignedIn, pending: _Pending) -> None:
        if reply.reason:
            self._secret(
                pending.name, pending.then, say("Not signed in: {reason}.", reason=reply.reason), pending.is_second
            )
            return
        if pending.is_second:  # only for what is given now; who sits here stays
            self._session.second = reply.session
        else:
            if self._people.name != pending.name:
                self._sign_out("")
            self._session.token = reply.session
            self._people.sign_in(pending.name)
        self.used()
        pending.then()

    @property
    def waits(self) -> bool:
        """Whether a secret is on its way to the hub."""
        return self._pending is not None

    def leave(self) -> None:
        """Let nobody sit here any more."""
        self._sign_out("")
        self._people.sign_out()

    def _sign_out(self, why: str) -> None:
        """Give the session of whoever was signed in back, and let the hub write that down."""
        if self._session.token:
            self._session.ask(SignOut(session=self._session.token, why=why))
            self._session.token = ""

    def used(self) -> None:
        """Somebody pressed a key here."""
        self._used = self._monotonic()

    def tick(self) -> None:
        """Let time pass: the hub may not answer, and a desk that nobody uses forgets who sat there."""
        now, pending = self._monotonic(), self._pending
        if pending is not None and now - pending.sent >= ANSWER_WITHIN_S:
            self._pending = None
            why = say("Not signed in: no answer from the hub within 5 s.")
            self._secret(pending.name, pending.then, why, pending.is_second)
        unit = self._session.store.unit
        if not self._session.token or unit is None or unit.sign_in is None:
            return
        if now - self._used >= unit.sign_in.idle_s:
            minutes = round(unit.sign_in.idle_s / 60)
            self._sign_out(f"no key for {minutes} min")
            if not self._is_asking():  # what is half typed stays; its end asks for the secret again
                self._people.sign_out()
            self._tell(
                say("Signed out: nobody pressed a key for {minutes} min. U signs in.", minutes=minutes), False
            )
