"""Who speaks: secrets are checked here and nowhere else, and every command must carry the session of its name.

What is broken opens the door and says so: a file that cannot be read, or a package that is missing, must stop no
answer to an alert. Help by hand needs no name. A session is a time and a mark made with the stored hash, so it
outlives a restart of the hub and ends with a new secret or a revoked name.
"""

import hashlib
import hmac
import logging
from collections.abc import Mapping
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

from monitor.core.commands import CallHelp, Command, Take
from monitor.core.roster_commands import AcceptOffer
from monitor.core.view import SignInView
from monitor.settings.people_file import PEOPLE, Known, PeopleFile, load_people
from monitor.settings.secret_hash import MISSING, fits, is_there
from shared.errors import ConfigurationError
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.language.saying import say
from shared.sign_in import SignedIn, SignIn, SignOut

log = logging.getLogger(__name__)

#: Wrong secrets in a row that cost nothing; each further one doubles the wait.
FREE_TRIES = 2
LONGEST_WAIT_S = 30
_AT_ONCE = 16


@dataclass(slots=True)
class _Tries:
    wrong: int = 0
    again_at: Instant = 0


@dataclass(frozen=True, slots=True)
class _Asked:
    peer: bytes
    request: SignIn
    known: Known
    found: "Future[bool]"


class SignIns:
    """Secrets, sessions and attempts of one hub. Hashes are checked on a thread of their own.

    Args:
        folder: where people.toml is looked for; ``None``: no secrets.
        people: the unit's names, each with its label.
    """

    def __init__(self, folder: Path | None, people: Mapping[str, str]) -> None:
        self._folder = folder
        self._people = people
        self._stamp: tuple[int, int, int] | None = None
        self._file: PeopleFile | None = None
        self._fault = ""
        self._tries: dict[str, _Tries] = {}
        self._spoke: dict[str, Instant] = {}
        self._asked: list[_Asked] = []
        self._thread: ThreadPoolExecutor | None = None
        self._said: list[str] = []
        self.look()

    # -- the file ---------------------------------------------------------------------------------------------

    def look(self) -> None:
        """Look whether the file has changed, and read it."""
        if self._folder is None:
            return
        stamp = _stamp(self._folder / PEOPLE)
        if stamp == self._stamp and not self._fault:
            return
        self._stamp = stamp
        before, fault, had = self._fault, "", self._file is not None
        try:
            self._file = load_people(self._folder)
            if self._file is not None and not is_there():
                fault = MISSING
        except ConfigurationError as error:
            fault = str(error)
        self._fault = fault
        if fault and fault != before:
            log.error("signing in is not checked: %s", fault)
            self._said.append(say("Signing in is not checked: {fault}", fault=fault))
        elif had and self._file is None:
            self._said.append(say("Secrets are not asked for any more: there is no {people}", people=PEOPLE))
        elif before and not fault:
            self._said.append(say("Signing in is checked again"))

    @property
    def _checking(self) -> PeopleFile | None:
        """The file where secrets are asked for now."""
        file = self._file
        return file if file is not None and file.sign_in.required and not self._fault else None

    def view(self) -> SignInView | None:
        """Give what desks must know; ``None``: nothing is asked for."""
        if self._fault:
            return SignInView(fault=self._fault)
        file = self._checking
        if file is None:
            return None
        asked = tuple(name for name in self._people if not self._is_free(file, name))
        return SignInView(asks=asked, idle_s=round(file.sign_in.idle_min * 60))

    def _is_free(self, file: PeopleFile, name: str) -> bool:
        known = file.known(name)
        return file.sign_in.without_secret and (known is None or (not known.secret and not known.revoked))

    @property
    def is_checking(self) -> bool:
        """Tell whether somebody waits for the answer to a secret."""
        return bool(self._asked)

    # -- signing in -------------------------------------------------------------------------------------------

    def ask(self, peer: bytes, request: SignIn, ticks: Instant) -> SignedIn | None:
        """Begin to check a secret; an answer where it is known at once."""
        file = self._checking
        if file is None or self._is_free(file, request.person):
            return _answer(request)
        known = file.known(request.person)
        if known is None or not known.secret or known.revoked:
            return _answer(request, reason=self._no_secret(request.person, known))
        tries = self._tries.get(request.person, _Tries())
        if tries.again_at > ticks:
            left = -(-(tries.again_at - ticks) // SECOND)
            return _answer(
                request,
                reason=say("{wrong} wrong secrets: again in {left} s", wrong=tries.wrong, left=left),
                wait_s=left,
            )
        if len(self._asked) >= _AT_ONCE or any(one.request.person == request.person for one in self._asked):
            return _answer(request, reason=say("a secret is being checked: again in 1 s"), wait_s=1)
        if self._thread is None:
            self._thread = ThreadPoolExecutor(1, "secrets")
        self._asked.append(_Asked(peer, request, known, self._thread.submit(fits, request.secret, known.secret)))
        return None

    def heard(self, now: Instant, ticks: Instant) -> list[tuple[bytes, SignedIn]]:
        """Give the answers of secrets that have been checked since."""
        done = [one for one in self._asked if one.found.done()]
        self._asked = [one for one in self._asked if one not in done]
        return [(one.peer, self._checked(one, now, ticks)) for one in done]

    def _checked(self, asked: _Asked, now: Instant, ticks: Instant) -> SignedIn:
        person, error = asked.request.person, asked.found.exception()
        label = self._label(person)
        if error is not None:  # a defect must stop no answer to an alert
            log.error("a secret could not be checked", exc_info=error)
            self._said.append(
                say(
                    "{label} signed in unchecked: the secret could not be checked ({name})",
                    label=label,
                    name=type(error).__name__,
                )
            )
            return _answer(asked.request, session=_session(person, now, asked.known))
        if asked.found.result():
            self._tries.pop(person, None)
            self._said.append(say("{label} signed in", label=label))
            return _answer(asked.request, session=_session(person, now, asked.known))
        tries = self._tries.setdefault(person, _Tries())
        tries.wrong += 1
        wait = min(LONGEST_WAIT_S, 2 ** (tries.wrong - FREE_TRIES)) if tries.wrong > FREE_TRIES else 0
        tries.again_at = ticks + wait * SECOND
        self._said.append(say("Wrong secret for {label}, {wrong} in a row", label=label, wrong=tries.wrong))
        again = say(": again in {wait} s", wait=wait) if wait else ""
        return _answer(
            asked.request,
            reason=say("this is not the secret of {label}{again}", label=label, again=again),
            wait_s=wait,
        )

    def sign_out(self, request: SignOut, now: Instant) -> None:
        """Write down that somebody is signed out at a desk; a session that is none, or over, says nothing."""
        file, name = self._checking, request.session.partition(":")[0]
        if file is not None and name in self._people and not self._no_session(file, name, request.session, now):
            self._said.append(
                say("{label} signed out", label=self._label(name)) + (f": {request.why}" if request.why else "")
            )

    # -- commands ---------------------------------------------------------------------------------------------

    def refusal(self, command: Command, session: str, second: str, now: Instant) -> tuple[str, str]:
        """Say who is not signed in for a command, and why it is not taken; empty: it is. Help is anybody's."""
        file = self._checking
        if file is None or isinstance(command, CallHelp):
            return "", ""
        for name, given in speakers(command, session, second):
            refusal = self._no_session(file, name, given, now)
            if refusal:
                if given or name == command.person:  # a second person is asked for when the first has spoken
                    self._note_claim(name, command, now)
                return name, refusal
        return "", ""

    def _no_session(self, file: PeopleFile, name: str, session: str, now: Instant) -> str:
        if name not in self._people or self._is_free(file, name):
            return ""  # the engine says of a stranger that they are none
        known, label = file.known(name), self._label(name)
        if known is None or not known.secret or known.revoked:
            return self._no_secret(name, known)
        who, _, rest = session.partition(":")
        begun = rest.partition(":")[0]
        if who != name or not (begun.isascii() and begun.isdigit()):
            return say("{label} is not signed in at this desk: the secret is asked for", label=label)
        if not hmac.compare_digest(session.encode(), _session(name, int(begun), known).encode()):
            return say("{label} is not signed in any more: the secret is asked for", label=label)
        if now - int(begun) > round(file.sign_in.longest_h * HOUR):
            return say(
                "{label} signed in more than {longest_h:g} h ago: the secret is asked for",
                label=label,
                longest_h=file.sign_in.longest_h,
            )
        return ""

    def _no_secret(self, name: str, known: Known | None) -> str:
        if known is not None and known.revoked:
            return say(
                "{label} is revoked: an administrator lets them back (weirkeeper people secret {name})",
                label=self._label(name),
                name=name,
            )
        return say(
            "{label} has no secret: an administrator sets one (weirkeeper people secret {name})",
            label=self._label(name),
            name=name,
        )

    def _label(self, name: str) -> str:
        return self._people.get(name, name)

    def _note_claim(self, name: str, command: Command, now: Instant) -> None:
        """Write down, once a minute for a name, that a desk spoke under it without its session."""
        if now - self._spoke.get(name, -MINUTE) >= MINUTE:
            self._spoke[name] = now
            self._said.append(
                say(
                    "A desk gave {kind} as {label}, not signed in: refused",
                    kind=command.kind.replace("_", " "),
                    label=self._label(name),
                )
            )

    def said(self) -> list[str]:
        """Give, once, what is to be written down."""
        said, self._said = self._said, []
        return said

    def close(self) -> None:
        """End the thread."""
        if self._thread is not None:
            self._thread.shutdown(wait=True, cancel_futures=True)


def speakers(command: Command, session: str, second: str) -> list[tuple[str, str]]:
    """Who must have signed in for a command, each with the session that was given for them.

    Who gives it, or who writes down what another one said; and the second person of what two people do.
    """
    told_to: str | None = getattr(command, "told_to", None)
    names = [command.person] if told_to is None else [command.person, told_to]
    if told_to is not None and isinstance(command, Take | AcceptOffer):
        names = [told_to]
    other: str | None = getattr(command, "second", None)
    return [*((name, session) for name in names), *([(other, second)] if other is not None else [])]


def _session(name: str, begun: Instant, known: Known) -> str:
    mark = hmac.new(known.secret.encode(), f"{name}:{begun}".encode(), hashlib.sha256).hexdigest()
    return f"{name}:{begun}:{mark}"


def _answer(request: SignIn, session: str = "", reason: str = "", wait_s: int = 0) -> SignedIn:
    return SignedIn(request=request.request, person=request.person, session=session, reason=reason, wait_s=wait_s)


def _stamp(path: Path) -> tuple[int, int, int] | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_mtime_ns, found.st_size, found.st_mode
