"""One page to a real mail server by SMTP (RFC 5321; codes 4yz for now, 5yz for good: section 4.2.1)."""

import shutil
import ssl
import subprocess
from pathlib import Path

import pytest

from monitor.core.pages.server import Tls
from monitor.core.pages.states import PageEvent
from monitor.hub.pages.delivery import Job, Outcome, deliver
from tests.helpers.hub import NOON
from tests.helpers.mail import DIE, PASSWORD, USER, WAIT, MailServer

TEXT = "B4 HIGH: Flow 2.2, limit 2.5 L/min since 03:12. Nobody has it. Charge nurse, first call. Ring 4210."
JOB = Job(7, 1, "charge@unit.invalid", TEXT, NOON)


@pytest.fixture(scope="module")
def certificate(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A certificate for this machine and its key, in one file, made for this run."""
    openssl = shutil.which("openssl")
    if openssl is None:
        pytest.skip("there is no openssl here to make a certificate with")
    folder = tmp_path_factory.mktemp("certificate")
    both = folder / "both.pem"
    words = ["req", "-x509", "-newkey", "rsa:2048", "-nodes", "-days", "2", "-subj", "/CN=localhost"]
    words += [
        "-addext",
        "subjectAltName=DNS:localhost",
        "-keyout",
        str(folder / "key"),
        "-out",
        str(folder / "cert"),
    ]
    subprocess.run([openssl, *words], check=True, capture_output=True, timeout=60)
    both.write_text((folder / "cert").read_text() + (folder / "key").read_text())
    return both


def private(certificate: Path) -> ssl.SSLContext:
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(certificate)
    return context


def test_that_an_accepted_page_arrives_as_it_was_written() -> None:
    with MailServer() as server:
        assert deliver(server.settings(), "", JOB) == Outcome(7, PageEvent.ACCEPTED)
        [mail] = server.mails
    assert (mail.sender, mail.to, mail.text) == ("board@unit.invalid", ("charge@unit.invalid",), TEXT)
    assert "Subject" not in mail.headers
    assert mail.headers["Date"] == "Fri, 15 Jan 2027 08:00:00 +0000"


def test_that_a_recipient_refused_for_good_is_refused_and_the_address_is_not_told() -> None:
    with MailServer() as server:
        server.rcpt.append("550 charge@unit.invalid is not here")
        found = deliver(server.settings(), "", JOB)
        assert found == Outcome(7, PageEvent.REFUSED, "refused (550)")
        assert server.mails == []


def test_that_a_temporary_failure_is_no_refusal() -> None:
    with MailServer() as server:
        server.rcpt.append("451 later")
        assert deliver(server.settings(), "", JOB) == Outcome(7, PageEvent.FAILED, "refused (451)")
        server.data.append("452 no room")
        assert deliver(server.settings(), "", JOB) == Outcome(7, PageEvent.FAILED, "refused (452)")
        assert deliver(server.settings(), "", JOB).event is PageEvent.ACCEPTED


def test_that_a_server_that_is_down_has_taken_nothing() -> None:
    with MailServer() as server:
        settings = server.settings()
    assert deliver(settings, "", JOB) == Outcome(7, PageEvent.FAILED, "no line to the mail server")


def test_that_a_line_cut_before_the_last_word_leaves_the_page_in_doubt() -> None:
    with MailServer() as server:
        server.data.append(DIE)
        assert deliver(server.settings(), "", JOB) == Outcome(7, PageEvent.CUT, "the line was cut")
        assert server.texts() == [TEXT]


def test_that_a_server_that_does_not_answer_leaves_the_page_in_doubt() -> None:
    with MailServer() as server:
        server.data.append(WAIT)
        found = deliver(server.settings(timeout_s=0.5), "", JOB)
        assert found == Outcome(7, PageEvent.CUT, "the mail server did not answer")


def test_that_a_page_and_a_password_go_over_a_private_line(certificate: Path) -> None:
    with MailServer(private(certificate), login=True) as server:
        settings = server.settings(Tls.STARTTLS, ca_file=str(certificate), user=USER)
        assert deliver(settings, PASSWORD, JOB).event is PageEvent.ACCEPTED
        assert server.logins == [USER.encode()]
        assert deliver(settings, "wrong", JOB) == Outcome(7, PageEvent.FAILED, "login refused (535)")


def test_that_nothing_goes_in_the_clear_where_tls_is_not_offered() -> None:
    with MailServer() as server:
        found = deliver(server.settings(Tls.STARTTLS), "", JOB)
        assert found == Outcome(7, PageEvent.FAILED, "TLS refused")
        assert server.mails == []


def test_that_a_stranger_s_certificate_is_not_trusted(certificate: Path) -> None:
    with MailServer(private(certificate)) as server:
        assert deliver(server.settings(Tls.STARTTLS), "", JOB) == Outcome(7, PageEvent.FAILED, "TLS refused")
        assert server.mails == []
