"""The figures of the handover cards: worked out of the record by a process of its own, so that judging never waits.

One process runs at a time, however many desks ask; what it found serves for a minute.
"""

import logging
import subprocess
import tempfile
from collections.abc import Sequence
from typing import IO

from pydantic import ValidationError

from monitor.core.cards import CardFigures
from monitor.core.wire import Cards, NotUnderstood
from monitor.hub.give_way import give_way
from shared.frames import first_fault
from shared.instant import MINUTE, SECOND, Instant
from shared.language.saying import say

log = logging.getLogger(__name__)

_SERVES_MS = MINUTE
_AT_MOST_MS = 60 * SECOND
Answers = list[tuple[bytes, Cards | NotUnderstood]]


class _Printed(CardFigures):
    """The figures as the command prints them: with the cautions, which every desk has of its own."""

    cautions: tuple[str, ...] = ()


class CardMaker:
    """Runs the command that prints the figures as JSON. ``command`` empty: this hub makes no cards."""

    def __init__(self, command: Sequence[str]) -> None:
        self._command = tuple(command)
        self._waiting: list[tuple[bytes, str]] = []
        self._process: subprocess.Popen[bytes] | None = None
        self._out: IO[bytes] | None = None
        self._began: Instant = 0
        self._found: tuple[Instant, CardFigures] | None = None

    def ask(self, peer: bytes, request: str) -> None:
        """Note that a peer wants the figures."""
        self._waiting.append((peer, request))

    def heard(self, ticks: Instant) -> Answers:
        """Give the answers that can be given now, and see to it that the others come. ``ticks``: monotonic ms."""
        if not self._waiting:
            return []
        if not self._command:
            return self._refused(say("this hub makes no cards"))
        if self._found is not None and ticks - self._found[0] < _SERVES_MS:
            figures = self._found[1]
            return [(peer, Cards(request=request, figures=figures)) for peer, request in self._taken()]
        if self._process is None:
            return self._begin(ticks)
        if self._process.poll() is None:
            if ticks - self._began < _AT_MOST_MS:
                return []
            self.close()
            return self._refused(say("the cards took too long"))
        return self._end(self._process.returncode, ticks)

    @property
    def is_working(self) -> bool:
        """Tell whether somebody waits for figures that are being worked out."""
        return self._process is not None

    def close(self) -> None:
        """End the process that runs, if one does."""
        process, self._process = self._process, None
        if process is not None:
            process.kill()
            process.wait()
        if self._out is not None:
            self._out.close()
            self._out = None

    def _begin(self, ticks: Instant) -> Answers:
        self._out = tempfile.TemporaryFile()  # noqa: SIM115 - a pipe would fill up and stop it
        try:
            self._process = subprocess.Popen(
                self._command, stdin=subprocess.DEVNULL, stdout=self._out, stderr=subprocess.STDOUT
            )
        except OSError as error:
            self.close()
            return self._refused(say("the cards cannot be made: {why}", why=error.strerror or error))
        give_way(self._process)
        self._began = ticks
        return []

    def _end(self, status: int, ticks: Instant) -> Answers:
        assert self._out is not None  # it was opened with the process
        self._out.seek(0)
        said = self._out.read()
        self.close()
        if status != 0:
            words = said.decode(errors="replace").strip().splitlines() or [
                say("it ended with {status}", status=status)
            ]
            log.warning("the cards cannot be made: %s", words[-1])
            return self._refused(say("the cards cannot be made: {words}", words=words[-1]))
        try:
            printed = _Printed.model_validate_json(said)
            figures = CardFigures.model_validate(printed.model_dump(exclude={"cautions"}))
        except ValidationError as error:
            return self._refused(say("the cards cannot be read: {first_fault}", first_fault=first_fault(error)))
        self._found = (ticks, figures)
        return [(peer, Cards(request=request, figures=figures)) for peer, request in self._taken()]

    def _refused(self, why: str) -> Answers:
        return [(peer, NotUnderstood(reason=f"{request}: {why}"[:500])) for peer, request in self._taken()]

    def _taken(self) -> list[tuple[bytes, str]]:
        waiting, self._waiting = self._waiting, []
        return waiting
