"""Pages of a running hub: a real mail server, a real record, a clock that the test moves."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from monitor.core.entries import Entry, EntryKind
from monitor.core.pages.server import Tls
from monitor.core.pages.states import PageState
from monitor.core.unit import Configuration
from monitor.core.view import PageView
from monitor.core.wire import EntryDelta, UnitDelta
from monitor.hub.pages import outbox
from monitor.settings import load_configuration
from tests.helpers.hub import CONFIG, FeedEnd, Rig, bed
from tests.helpers.hub_play import raise_high, snapshot
from tests.helpers.mail import DIE, WAIT, MailServer

S = PageState


@pytest.fixture
def server() -> Iterator[MailServer]:
    with MailServer() as server:
        yield server


def paging(server: MailServer, *people: str, tls: Tls = Tls.NONE, timeout_s: float = 5) -> Configuration:
    """The shipped unit with this mail server; ``people`` have addresses, the first of the roster's nurses too."""
    shipped = load_configuration(CONFIG)
    able = people or ("nurse-1", "charge-2", "perfusionist-1", "intensivist-1", "surgeon-3")
    told = tuple(
        person.model_copy(update={"page_to": f"{person.name}@unit.invalid"}) if person.name in able else person
        for person in shipped.unit.people
    )
    unit = shipped.unit.model_copy(update={"people": told, "pages": server.settings(tls, timeout_s=timeout_s)})
    return shipped.model_copy(update={"unit": unit})


def paged(rig: Rig) -> list[Entry]:
    """What the record says of pages, oldest first."""
    return [entry for entry in rig.record.entries(None, 500)[::-1] if entry.kind is EntryKind.PAGED]


def states(rig: Rig, person: str) -> list[PageState | None]:
    return [entry.page_state for entry in paged(rig) if entry.person == person]


def high(rig: Rig) -> FeedEnd:
    """Bring B1 to a high that nobody has; its nurse is called at once."""
    feed = rig.feed("ward", bed("B1"))
    raise_high(rig, feed)
    return feed


def test_that_a_call_is_written_and_paged_and_its_handing_over_is_written_too(
    tmp_path: Path, server: MailServer
) -> None:
    with Rig(tmp_path, paging(server)) as rig:
        high(rig)
        rig.until(lambda: S.HANDED_OVER in states(rig, "nurse-1"))
        entries = rig.record.entries(None, 500)[::-1]
        assert states(rig, "nurse-1") == [S.WAITING, S.HANDED_OVER]
        called = next(place for place, one in enumerate(entries) if one.kind is EntryKind.CALLED)
        follows = entries[called + 1 :]
        page = next(one for one in follows if one.kind is EntryKind.PAGED)
        assert (page.bed, page.rung, page.person, page.at) == ("B1", 1, "nurse-1", entries[called].at)
        [mail] = server.mails
        assert mail.to == ("nurse-1@unit.invalid",)
        assert mail.text == page.text
        assert "B1 HIGH" in mail.text
        assert "limit 2.5 L/min" in mail.text
        assert "Ring 4210." in mail.text


def test_that_no_address_reaches_a_desk(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server)) as rig:
        desk = rig.desk()
        server.rcpt.append("550 nurse-1@unit.invalid is unknown")
        high(rig)
        rig.until(lambda: S.REFUSED in states(rig, "nurse-1"))
        told = snapshot(rig, desk)
        assert [page.state for page in told.unit.pages] == [S.REFUSED]
        rig.until(lambda: any(delta.unit.pages for delta in desk.sub.of(UnitDelta)))
        everything = "".join(delta.model_dump_json() for delta in desk.sub.heard) + told.model_dump_json()
        assert "unit.invalid" not in everything
        refused = [delta.entry for delta in desk.sub.of(EntryDelta) if delta.entry.page_state is S.REFUSED]
        assert refused[0].reason == "refused (550)"


def test_that_a_temporary_failure_is_tried_again_by_the_hub_s_clock(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.rcpt.append("451 later")
        high(rig)
        rig.until(lambda: S.TRYING_AGAIN in states(rig, "nurse-1"))
        rig.until(lambda: S.HANDED_OVER in states(rig, "nurse-1"), lambda: rig.turn(1))
        failed, sent = paged(rig)[1:3]
        assert sent.at - failed.at >= 5_000
        assert states(rig, "nurse-1") == [S.WAITING, S.TRYING_AGAIN, S.HANDED_OVER]
        assert "again:" not in server.texts()[0], "the first was surely not sent"


def test_that_a_page_is_given_up_after_a_bounded_number_of_attempts(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server, "nurse-1", tls=Tls.STARTTLS)) as rig:
        high(rig)
        for seconds in outbox.BACKOFF_S:
            rig.until(lambda: not rig.hub.outbox.is_sending)
            rig.turn(seconds + 1)
        rig.until(lambda: S.NOT_SENT in states(rig, "nurse-1"))
        first = [entry for entry in paged(rig) if entry.page == paged(rig)[0].page]
        assert [entry.page_state for entry in first] == [S.WAITING, S.TRYING_AGAIN, S.NOT_SENT]
        assert first[-1].reason == "TLS refused"
        assert server.mails == [], "nothing goes in the clear instead"


def test_that_a_page_in_doubt_is_sent_again_and_says_so(tmp_path: Path, server: MailServer) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.data.append(DIE)
        high(rig)
        rig.until(lambda: S.IN_DOUBT in states(rig, "nurse-1"))
        rig.turn(outbox.BACKOFF_S[0] + 1)
        rig.until(lambda: S.HANDED_OVER in states(rig, "nurse-1"))
        first, second = server.texts()
        assert first.startswith("SIMULATED B1 HIGH: ")
        assert second == first.replace("SIMULATED ", "SIMULATED again: ")


def test_that_a_page_under_way_at_a_kill_is_sent_again_after_the_restart_and_says_so(
    tmp_path: Path, server: MailServer
) -> None:
    with Rig(tmp_path, paging(server, "nurse-1")) as rig:
        server.data.append(WAIT)
        high(rig)
        rig.until(lambda: bool(server.mails))
        server.let_go()
        rig.hub.outbox.stop()
        rig.drop()
        assert len(server.mails) == 1, "it was handed over, and the hub did not live to know"
        rig.up()
        rig.until(lambda: S.HANDED_OVER in states(rig, "nurse-1"))
        assert states(rig, "nurse-1") == [S.WAITING, S.IN_DOUBT, S.HANDED_OVER]
        first, second = server.texts()
        assert second == first.replace("SIMULATED ", "SIMULATED again: ")
        rig.down()
        rig.up()
        rig.turn(1)
        assert len(server.mails) == 2, "what is settled stays settled"


def test_that_without_a_mail_server_pages_stand_at_the_desks(tmp_path: Path) -> None:
    with Rig(tmp_path) as rig:
        desk = rig.desk()
        high(rig)
        [page] = snapshot(rig, desk).unit.pages
        assert (page.state, page.bed, page.rung, page.person) == (S.DESKS_ONLY, "B1", 1, "nurse-1")


def test_that_a_person_is_paged_only_on_the_rungs_that_were_named(tmp_path: Path, server: MailServer) -> None:
    whole = paging(server)
    people = tuple(
        person.model_copy(update={"page_on": frozenset({2})}) if person.name == "nurse-1" else person
        for person in whole.unit.people
    )
    configuration = whole.model_copy(update={"unit": whole.unit.model_copy(update={"people": people})})
    with Rig(tmp_path, configuration) as rig:
        high(rig)
        rig.turn(61)
        rig.until(lambda: S.HANDED_OVER in states(rig, "charge-2"))
        assert states(rig, "nurse-1")[0] is S.DESKS_ONLY
        assert {mail.to for mail in server.mails} == {("charge-2@unit.invalid",)}


def test_that_a_server_that_hangs_holds_up_no_call(tmp_path: Path, server: MailServer) -> None:
    """config/ladder.toml, a high: rungs 2 to 5 at 60, 120, 180 and 300 s; each within a second of its time."""
    with Rig(tmp_path, paging(server, timeout_s=60)) as rig:
        server.data.append(WAIT)
        high(rig)
        rig.until(lambda: rig.hub.outbox.is_sending)
        for _ in range(305):
            rig.turn(1)
        entries = rig.record.entries(None, 500)[::-1]
        [raised] = [one for one in entries if one.kind is EntryKind.RAISED and one.priority == "high"]
        calls = {
            one.rung: one.at - raised.at
            for one in entries[::-1]
            if one.kind is EntryKind.CALLED and one.episode == raised.episode
        }
        for rung, seconds in {1: 0, 2: 60, 3: 120, 4: 180, 5: 300}.items():
            assert seconds * 1000 <= calls[rung] <= seconds * 1000 + 1100
        assert len(server.mails) == 1
        server.let_go()
        rig.until(lambda: S.HANDED_OVER in states(rig, "surgeon-3"))


def test_that_what_does_not_fit_is_told_as_not_sent(
    tmp_path: Path, server: MailServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(outbox, "WAITING_AT_MOST", 1)
    with Rig(tmp_path, paging(server)) as rig:
        server.data.append(WAIT)
        high(rig)
        rig.turn(61)
        rig.until(lambda: bool(states(rig, "charge-2")))
        assert states(rig, "charge-2") == [S.NOT_SENT]
        [page] = [one for one in views(rig) if one.person == "charge-2"]
        assert page.state is S.NOT_SENT


def views(rig: Rig) -> tuple[PageView, ...]:
    return rig.hub.views.unit(rig.hub.clock.now()).pages
