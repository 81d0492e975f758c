"""A real mail server on a port of this machine, which does as a test says: refuses, waits, or drops the line."""

import asyncio
import logging
import ssl
from collections import deque
from dataclasses import dataclass
from email import message_from_bytes
from types import TracebackType
from typing import Any, Self

from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword

from monitor.core.pages.server import PageServer, Tls
from tests.helpers.hub import free_ports

#: Instead of a reply: take the mail, then drop the line without a word.
DIE = "die"
#: Instead of a reply: take the mail, then keep the answer back until the test lets go.
WAIT = "wait"
#: The server of the test logs lines that a test cuts on purpose; that is not the log of the hub.
logging.getLogger("mail.log").setLevel(logging.CRITICAL + 1)

USER, PASSWORD = "weirkeeper", "a weir is a low dam"


@dataclass(frozen=True)
class Mail:
    """A mail that the server took, whatever it said afterwards."""

    sender: str
    to: tuple[str, ...]
    text: str
    headers: dict[str, str]


class MailServer:
    """Takes mail until the end of the block.

    Attributes:
        mails: what it took.
        rcpt, data: what it says next to a recipient and to a text; empty: 250.
    """

    def __init__(self, tls: ssl.SSLContext | None = None, *, login: bool = False) -> None:
        self.mails: list[Mail] = []
        self.rcpt: deque[str] = deque()
        self.data: deque[str] = deque()
        self.logins: list[bytes] = []
        self.port = free_ports(1)[0]
        self._go = asyncio.Event()
        self._controller = Controller(
            self, hostname="127.0.0.1", port=self.port, tls_context=tls, require_starttls=tls is not None,
            auth_required=login, auth_require_tls=login, authenticator=self._login if login else None,
        )  # fmt: skip

    def __enter__(self) -> Self:
        self._controller.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.let_go()
        self._controller.stop()

    def settings(self, tls: Tls = Tls.NONE, **more: Any) -> PageServer:
        """What a unit configures to reach this server."""
        fields = {"host": "localhost", "port": self.port, "sender": "board@unit.invalid", "timeout_s": 5.0}
        return PageServer.model_validate({**fields, "tls": tls, **more}, strict=False)

    def let_go(self) -> None:
        """End the waiting of ``WAIT``."""
        self._controller.loop.call_soon_threadsafe(self._go.set)

    def texts(self) -> list[str]:
        """What the mails say."""
        return [mail.text for mail in self.mails]

    async def handle_RCPT(self, server: Any, session: Any, envelope: Any, address: str, options: Any) -> str:
        reply = self.rcpt.popleft() if self.rcpt else "250 OK"
        if reply.startswith("2"):
            envelope.rcpt_tos.append(address)
        return reply

    async def handle_DATA(self, server: Any, session: Any, envelope: Any) -> str:
        reply = self.data.popleft() if self.data else "250 OK"
        if reply in (DIE, WAIT) or reply.startswith("2"):
            parsed = message_from_bytes(envelope.content)
            text = str(parsed.get_payload()).rstrip("\r\n")
            self.mails.append(Mail(envelope.mail_from, tuple(envelope.rcpt_tos), text, dict(parsed.items())))
        if reply == DIE:
            server.transport.abort()
        if reply == WAIT:
            await self._go.wait()
            reply = "250 OK"
        return reply

    def _login(self, server: Any, session: Any, envelope: Any, mechanism: str, data: Any) -> AuthResult:
        right = isinstance(data, LoginPassword) and (data.login, data.password) == (
            USER.encode(),
            PASSWORD.encode(),
        )
        self.logins.append(data.login if isinstance(data, LoginPassword) else b"")
        return AuthResult(success=right, handled=False)
