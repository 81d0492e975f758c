"""One page to one address by SMTP, and what can be said of it afterwards.

A server's last word after the text (250) is all that there is to know: the page is handed over, delivery unknown. A
line that is cut after the text was begun and before that word leaves the page in doubt. Everything earlier is
certain: it was not sent. TLS that was asked for and refused ends the attempt; nothing goes in the clear instead.
The server's own words are not kept: they tend to repeat the address, which no desk may see.
"""

import smtplib
import ssl
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, datetime
from email.message import EmailMessage
from email.policy import SMTP

from monitor.core.pages.server import PageServer, Tls
from monitor.core.pages.states import PageEvent
from shared.instant import SECOND, Instant
from shared.language.saying import say

#: What the hub calls itself; the machine's own name would be looked up, which can take seconds.
_OWN_NAME = "weirkeeper.invalid"


@dataclass(frozen=True, slots=True)
class Job:
    """A page to hand over. ``attempt`` counts from 1; ``at``: the hub's time of the call."""

    page: int
    attempt: int
    to: str
    text: str
    at: Instant


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of an attempt; ``why`` in a few words, without the address."""

    page: int
    event: PageEvent
    why: str = ""


class _Refused(Exception):
    """The server refused sender, address or text; for good (5xx) or for now (4xx)."""

    def __init__(self, code: int) -> None:
        super().__init__(code)
        self.code = code


def deliver(server: PageServer, password: str, job: Job) -> Outcome:
    """Try once to hand a page over. Takes at most a few times the server's timeout; never raises for the server."""
    begun = False
    smtp: smtplib.SMTP | None = None
    try:
        smtp = _connected(server)
        smtp.ehlo_or_helo_if_needed()
        if server.user:
            smtp.login(server.user, password)
        _agreed(*smtp.mail(server.sender))
        _agreed(*smtp.rcpt(job.to))
        begun = True
        _agreed(*smtp.data(_message(server, job)))
    except _Refused as refused:
        return _refused(job, refused.code)
    except smtplib.SMTPDataError as refused:
        return _refused(job, refused.smtp_code)
    except (ssl.SSLError, smtplib.SMTPNotSupportedError):
        return Outcome(job.page, PageEvent.CUT if begun else PageEvent.FAILED, say("TLS refused"))
    except smtplib.SMTPAuthenticationError as refused:
        return Outcome(job.page, PageEvent.FAILED, say("login refused ({smtp_code})", smtp_code=refused.smtp_code))
    except (OSError, smtplib.SMTPException) as error:
        why = say("the line was cut") if smtp is not None else say("no line to the mail server")
        if isinstance(error, TimeoutError) or isinstance(error.__context__, TimeoutError):
            why = say("the mail server did not answer")
        return Outcome(job.page, PageEvent.CUT if begun else PageEvent.FAILED, why)
    finally:
        if smtp is not None:
            _leave(smtp)
    return Outcome(job.page, PageEvent.ACCEPTED)


def _connected(server: PageServer) -> smtplib.SMTP:
    context = ssl.create_default_context(cafile=server.ca_file or None)
    if server.tls is Tls.FROM_START:
        return smtplib.SMTP_SSL(server.host, server.port, _OWN_NAME, timeout=server.timeout_s, context=context)
    smtp = smtplib.SMTP(server.host, server.port, _OWN_NAME, timeout=server.timeout_s)
    if server.tls is Tls.STARTTLS:
        try:
            smtp.starttls(context=context)
        except BaseException:
            smtp.close()
            raise
    return smtp


def _message(server: PageServer, job: Job) -> bytes:
    """Give the mail. It has no subject: a gateway to telephones would take that from the 160 characters."""
    message = EmailMessage(policy=SMTP)
    message["From"] = server.sender
    message["To"] = job.to
    message["Date"] = datetime.fromtimestamp(job.at / SECOND, UTC)
    domain = server.sender.rpartition("@")[2]
    message["Message-ID"] = f"<page-{job.page}-{job.attempt}-{job.at}@{domain}>"
    message.set_content(job.text, charset="us-ascii", cte="7bit")
    return message.as_bytes()


def _agreed(code: int, _: bytes) -> None:
    if not 200 <= code < 300:
        raise _Refused(code)


def _refused(job: Job, code: int) -> Outcome:
    return Outcome(
        job.page, PageEvent.REFUSED if code >= 500 else PageEvent.FAILED, say("refused ({code})", code=code)
    )


def _leave(smtp: smtplib.SMTP) -> None:
    with suppress(OSError, smtplib.SMTPException):
        smtp.quit()
    smtp.close()
