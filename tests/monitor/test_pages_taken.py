"""Pages of a call that somebody has taken: no more is tried than the take leaves due, and nothing is hidden."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.core.commands import Reason, Take, Where
from monitor.core.effects import CallsHeld
from monitor.core.events import Commanded
from monitor.core.grades import Rung
from monitor.core.pages.states import PageState
from monitor.hub.pages import outbox
from shared.quantities import Quantity as Q
from tests.helpers.hub import BASE, Rig, bed
from tests.helpers.hub_play import give, play, snapshot, take
from tests.helpers.mail import DIE, WAIT, MailServer
from tests.helpers.one_bed import Bed
from tests.monitor.test_pages_hub import high, paged, paging, states, views

S = PageState


@pytest.fixture
def server() -> Iterator[MailServer]:
    with MailServer() as server:
        yield server


def taken(rig: Rig) -> None:
    """The charge nurse takes what is open at B1."""
    desk = rig.desk()
    snapshot(rig, desk)
    lead = rig.hub.judge.engine.tile("B1", rig.hub.clock.now()).episodes[0]
    assert give(rig, desk, take(lead.lead, lead.revision)).accepted


def test_that_a_page_is_tried_no_more_once_the_call_is_taken_and_says_so(
    tmp_path: Path, server: MailServer
) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.rcpt += ["451 later"] * 3
        high(rig)
        rig.until(lambda: S.TRYING_AGAIN in states(rig, "nurse-1"))
        taken(rig)
        rig.until(lambda: S.STOPPED in states(rig, "nurse-1"))
        for seconds in outbox.BACKOFF_S[:3]:
            rig.turn(seconds + 1)
        assert states(rig, "nurse-1") == [S.WAITING, S.TRYING_AGAIN, S.STOPPED]
        assert server.mails == []
        assert [page.state for page in views(rig)] == [S.STOPPED]


def test_that_a_page_in_doubt_is_not_sent_again_once_the_call_is_taken_and_stays_in_doubt(
    tmp_path: Path, server: MailServer
) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.data += [DIE] * 3
        high(rig)
        rig.until(lambda: S.IN_DOUBT in states(rig, "nurse-1"))
        taken(rig)
        rig.until(lambda: S.LEFT_IN_DOUBT in states(rig, "nurse-1"))
        sent = len(server.mails)
        server.data.clear()
        for seconds in outbox.BACKOFF_S[:3]:
            rig.turn(seconds + 1)
        assert len(server.mails) == sent
        assert states(rig, "nurse-1")[-1] is S.LEFT_IN_DOUBT
        assert paged(rig)[-1].reason, "why it was in doubt still stands"


def test_that_what_the_mail_server_has_taken_meanwhile_is_told(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.data.append(WAIT)
        high(rig)
        rig.until(lambda: bool(server.mails))
        taken(rig)
        assert states(rig, "nurse-1") == [S.WAITING]
        server.let_go()
        rig.until(lambda: len(states(rig, "nurse-1")) > 1)
        assert states(rig, "nurse-1") == [S.WAITING, S.HANDED_OVER]


def test_that_an_attempt_that_fails_after_the_take_is_the_last(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server, "nurse-1", timeout_s=1)) as rig:
        server.data.append(WAIT)
        high(rig)
        rig.until(lambda: bool(server.mails))
        taken(rig)
        rig.until(lambda: S.LEFT_IN_DOUBT in states(rig, "nurse-1"))
        server.let_go()
        assert states(rig, "nurse-1") == [S.WAITING, S.LEFT_IN_DOUBT]
        assert "again:" not in (paged(rig)[-1].text or ""), "it is not sent again"


def test_that_the_end_of_the_hold_pages_anew(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.rcpt += ["451 later"] * 3
        high(rig)
        rig.until(lambda: S.TRYING_AGAIN in states(rig, "nurse-1"))
        taken(rig)
        rig.until(lambda: S.STOPPED in states(rig, "nurse-1"))
        server.rcpt.clear()
        rig.turn(181)
        rig.until(lambda: S.HANDED_OVER in states(rig, "nurse-1"))
        assert "again:" not in server.texts()[0], "the first was surely not sent"


def test_that_a_restart_sends_no_page_that_a_take_had_stopped(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.rcpt += ["451 later"] * 3
        high(rig)
        rig.until(lambda: S.TRYING_AGAIN in states(rig, "nurse-1"))
        taken(rig)
        rig.until(lambda: S.STOPPED in states(rig, "nurse-1"))
        rig.drop()
        rig.up()
        rig.turn(31)
        assert states(rig, "nurse-1") == [S.WAITING, S.TRYING_AGAIN, S.STOPPED]
        assert server.mails == []


def test_that_a_page_of_another_episode_is_tried_as_before(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.rcpt += ["451 later"] * 3
        high(rig)
        rig.until(lambda: S.TRYING_AGAIN in states(rig, "nurse-1"))
        other = (paged(rig)[0].episode or 0) + 1
        assert rig.hub.outbox.held(CallsHeld(other, tuple(Rung)), rig.hub.clock.now()) == []
        server.rcpt.clear()
        rig.turn(outbox.BACKOFF_S[1] + 1)
        rig.until(lambda: S.HANDED_OVER in states(rig, "nurse-1"))


def test_that_the_page_of_an_intensivist_whom_the_take_does_not_hold_is_tried_on(
    tmp_path: Path, server: MailServer
) -> None:
    """A flow of zero alone has one witness: a charge nurse's take does not hold the intensivist."""
    with Rig(tmp_path, paging(server, "intensivist-1")) as rig:
        server.rcpt += ["451 later"] * 3
        feed = rig.feed("ward", bed("B1"))
        play(rig, feed, 90, readings=BASE)
        play(rig, feed, 75, readings=BASE | {Q.PUMP_FLOW: 0.4})
        rig.until(lambda: S.TRYING_AGAIN in states(rig, "intensivist-1"))
        taken(rig)
        server.rcpt.clear()
        rig.turn(outbox.BACKOFF_S[2] + 1)
        rig.until(lambda: S.HANDED_OVER in states(rig, "intensivist-1"))
        assert S.STOPPED not in states(rig, "intensivist-1")


def held(lost: Bed, reason: Reason, person: str) -> tuple[Rung, ...]:
    lead = lost.lead
    answer = {"id": "take-1", "person": person, "bed": "B1", "alert": lead.lead, "revision": lead.revision}
    command = Take.model_validate(answer | {"reason": reason, "where": Where.AT_BED})
    effects = lost.engine.handle(Commanded(command), lost.now)
    [found] = [effect for effect in effects if isinstance(effect, CallsHeld)]
    return found.rungs


def test_that_a_take_says_which_rungs_it_holds() -> None:
    for reason, person, rungs in (
        (Reason.CIRCULATION_CHECKED, "nurse-B1", tuple(Rung)),
        (Reason.CIRCULATION_CHECKED, "charge", tuple(r for r in Rung if r is not Rung.INTENSIVIST)),
        (Reason.AT_BEDSIDE, "nurse-B1", tuple(r for r in Rung if r is not Rung.INTENSIVIST)),
    ):
        lost = Bed()
        lost.run(90, {})
        lost.run(11, {Q.PUMP_FLOW: 0.0})
        assert held(lost, reason, person) == rungs
