"""Signing in at a real hub: what a desk may say under which name, whatever it claims."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.core.entries import EntryKind
from monitor.core.view import SignInView
from monitor.settings.people_file import PEOPLE, Known, PeopleFile, load_people, write_people
from monitor.settings.secret_hash import MISSING, hashed
from shared.sign_in import SignOut
from tests.helpers.hub import Rig
from tests.helpers.logged import expect_logged
from tests.helpers.signing import SECRETS, SigningDesk, people


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    people(tmp_path)
    with Rig(tmp_path, secrets=tmp_path) as rig:
        yield rig


def written(rig: Rig) -> list[str]:
    """What the log says of signing in, the oldest first."""
    rig.turn()
    return [e.text or "" for e in reversed(rig.record.entries(None, 200)) if e.kind is EntryKind.SIGN_IN]


def view(rig: Rig) -> SignInView | None:
    return rig.hub.views.unit(rig.hub.clock.now()).sign_in


def test_that_who_has_signed_in_acts_and_it_is_written_down(rig: Rig) -> None:
    desk = SigningDesk(rig)
    answer = desk.sign_in("charge-2", "2580")
    assert (answer.person, answer.reason, answer.wait_s) == ("charge-2", "", 0)
    assert desk.give(answer.session, "charge-2").accepted
    assert written(rig) == ["Charge 2 signed in"]
    for session in ("", "charge-2:1:forged", "nobody", answer.session):
        desk.end.ask.say("desk", SignOut(session=session, why="no key for 15 min"))
    rig.until(lambda: len(written(rig)) == 2)
    assert written(rig) == ["Charge 2 signed in", "Charge 2 signed out: no key for 15 min"]
    assert "2580" not in repr(answer)
    shown = view(rig)
    assert shown is not None
    assert "charge-2" in shown.asks
    assert shown.idle_s == 900


def test_that_a_desk_that_claims_another_name_is_refused_and_that_is_written_down(rig: Rig) -> None:
    desk = SigningDesk(rig)
    session = desk.session("nurse-1")
    _, begun, mark = session.split(":")
    later = f"charge-2:{int(begun) + 1}:{mark}"
    for forged in (
        "",
        session,
        f"charge-2:{begun}:{mark}",
        later,
        "charge-2:x:",
        "charge-2",
        "::",
        "charge-2:\u00b2:",
        f"charge-2:{begun}:\u00e9",
    ):
        answer = desk.give(forged, "charge-2")
        assert not answer.accepted, forged
        assert answer.sign_in == "charge-2", forged
        assert "Charge 2 is not signed in" in answer.reason
    assert written(rig) == [
        "Nurse 1 signed in",
        "A desk gave care marker as Charge 2, not signed in: refused",
    ]
    rig.turn(61)
    desk.give("", "charge-2")
    assert len(written(rig)) == 3
    assert not desk.give(session, "nurse-1", "take", bed="B1", alert=1, revision=1, told_to="charge-2").accepted
    assert desk.give(session, "nurse-1").accepted


def test_that_a_take_is_told_by_voice_to_who_is_signed_in(rig: Rig) -> None:
    desk = SigningDesk(rig)
    session = desk.session("charge-2")
    assert desk.give("", "somebody", "help", bed="B2", what="air").accepted, "help by hand needs no name"
    (episode,) = rig.hub.judge.engine.tile("B2", rig.hub.clock.now()).episodes
    take: dict[str, Any] = {"bed": "B2", "alert": episode.lead, "revision": episode.revision, "where": "at_bed"}
    assert desk.give(session, "nurse-2", "take", told_to="nurse-1", **take).sign_in
    assert desk.give(session, "nurse-2", "take", told_to="charge-2", **take).accepted
    (episode,) = rig.hub.judge.engine.tile("B2", rig.hub.clock.now()).episodes
    assert episode.holder is not None
    assert (episode.holder.person, episode.holder.told_to) == ("nurse-2", "charge-2")
    away: dict[str, Any] = {"who": "nurse-2", "until": rig.hub.clock.now() + 60_000}
    assert desk.give(session, "charge-2", "unreachable", told_to="nurse-1", **away).sign_in


def test_that_a_second_person_signs_in_too(rig: Rig) -> None:
    desk = SigningDesk(rig)
    session, now = desk.session("charge-2"), rig.hub.clock.now()
    trial: dict[str, Any] = {"bed": "B3", "trial": "sweep_off", "until": now + 60_000, "second": "perfusionist-1"}
    for second in ("", session):
        answer = desk.give(session, "charge-2", "trial_start", second_session=second, **trial)
        assert (answer.accepted, answer.sign_in) == (False, "perfusionist-1")
    other = desk.session("perfusionist-1")
    assert desk.give(session, "charge-2", "trial_start", second_session=other, **trial).accepted
    assert written(rig)[1] == "A desk gave trial start as Perfusionist 1, not signed in: refused"
    assert len(written(rig)) == 3, "to be asked for the second secret is nothing to write down"


def test_that_wrong_secrets_make_the_next_try_wait_and_each_is_written_down(rig: Rig) -> None:
    desk = SigningDesk(rig)
    waits = []
    for _ in range(8):
        answer = desk.sign_in("charge-2", "0000")
        assert answer.session == ""
        assert "this is not the secret of Charge 2" in answer.reason
        waits.append(answer.wait_s)
        if answer.wait_s:
            refused = desk.sign_in("charge-2", SECRETS["charge-2"])
            assert refused.session == ""
            assert "wrong secrets: again in" in refused.reason
            assert 0 < refused.wait_s <= answer.wait_s
        rig.turn(answer.wait_s + 0.1)
    assert waits == [0, 0, 2, 4, 8, 16, 30, 30]
    assert desk.session("nurse-1"), "no other name waits"
    assert desk.session("charge-2")
    assert desk.sign_in("charge-2", "0000").wait_s == 0, "a right secret begins the count anew"
    assert written(rig)[:2] == ["Wrong secret for Charge 2, 1 in a row", "Wrong secret for Charge 2, 2 in a row"]


def test_that_one_name_is_checked_once_at_a_time(rig: Rig) -> None:
    from shared.sign_in import SignedIn, SignIn

    desk = SigningDesk(rig)
    for number in range(3):
        desk.end.ask.say("desk", SignIn(request=f"at-once-{number}", person="charge-2", secret="2580"))
    rig.until(lambda: len(desk.end.ask.of(SignedIn)) == 3)
    reasons = sorted(one.reason for one in desk.end.ask.of(SignedIn))
    assert reasons.count("") >= 1
    assert set(reasons) <= {"", "a secret is being checked: again in 1 s"}


def test_that_a_restart_of_the_hub_asks_nobody_again(rig: Rig) -> None:
    session = SigningDesk(rig).session("charge-2")
    rig.drop()
    rig.up()
    assert SigningDesk(rig).give(session, "charge-2").accepted


def test_that_a_new_secret_or_a_revoked_name_ends_what_was_signed_in(rig: Rig, tmp_path: Path) -> None:
    desk = SigningDesk(rig)
    sessions = {name: desk.session(name) for name in ("charge-2", "nurse-1", "nurse-2")}
    file = load_people(tmp_path)
    assert file is not None
    changed = file.with_known(Known(name="charge-2", secret=hashed("9999")))
    write_people(tmp_path, changed.with_known(Known(name="nurse-1", revoked=True)))
    rig.turn(1.1)
    answer = desk.give(sessions["charge-2"], "charge-2")
    assert answer.reason == "Charge 2 is not signed in any more: the secret is asked for"
    assert "Nurse 1 is revoked" in desk.give(sessions["nurse-1"], "nurse-1").reason
    assert "Nurse 1 is revoked" in desk.sign_in("nurse-1", SECRETS["nurse-1"]).reason
    assert desk.give(sessions["nurse-2"], "nurse-2", bed="B2").accepted is True
    assert desk.sign_in("charge-2", "2580").session == ""
    assert desk.sign_in("charge-2", "9999").session


def test_that_a_session_ends_with_the_shift(tmp_path: Path) -> None:
    people(tmp_path, longest_h=1)
    with Rig(tmp_path, secrets=tmp_path) as rig:
        desk = SigningDesk(rig)
        session = desk.session("charge-2")
        rig.turn(3_500)
        assert desk.give(session, "charge-2").accepted
        rig.turn(200)
        answer = desk.give(session, "charge-2")
        assert answer.sign_in
        assert answer.reason.startswith("Charge 2 signed in more than 1 h ago")


def test_that_a_name_without_a_secret_acts_only_where_the_unit_says_so(tmp_path: Path) -> None:
    people(tmp_path)
    with Rig(tmp_path, secrets=tmp_path) as rig:
        desk = SigningDesk(rig)
        assert "has no secret" in desk.give("", "intensivist-1").reason
        assert "has no secret" in desk.sign_in("intensivist-1", "1234").reason
        assert "has no secret" in desk.sign_in("stranger", "1234").reason
        people(tmp_path, without_secret=True)
        rig.turn(1.1)
        assert desk.give("", "intensivist-1").accepted
        assert desk.give("", "stranger").reason == "stranger is not among the unit's people"
        assert desk.give("", "charge-2").sign_in
        shown = view(rig)
        assert shown is not None
        assert sorted(shown.asks) == sorted(SECRETS)


def test_that_who_looks_on_may_sign_in_and_yet_does_nothing(tmp_path: Path) -> None:
    from monitor.core.grades import Role
    from monitor.core.unit import Person
    from monitor.settings import load_configuration
    from tests.helpers.hub import CONFIG

    people(tmp_path, {"looker": "4444"})
    shipped = load_configuration(CONFIG)
    everybody = (*shipped.unit.people, Person(name="looker", label="Looker", role=Role.VIEWER))
    unit = shipped.unit.model_copy(update={"people": everybody})
    with Rig(tmp_path, shipped.model_copy(update={"unit": unit}), secrets=tmp_path) as rig:
        desk = SigningDesk(rig)
        session = desk.sign_in("looker", "4444").session
        answer = desk.give(session, "looker", break_glass="I must")
        assert not answer.accepted
        assert not answer.sign_in
        assert answer.reason.startswith("Looker looks on and cannot answer: charge nurse")


def test_that_a_nurse_at_another_bed_gives_a_reason_and_it_is_shown(rig: Rig) -> None:
    desk = SigningDesk(rig)
    session = desk.session("nurse-1")
    answer = desk.give(session, "nurse-1", bed="B2")
    assert (answer.accepted, answer.with_reason, answer.sign_in) == (False, True, "")
    assert desk.give(session, "nurse-1", bed="B2", break_glass="Nobody else is here").accepted
    (beyond,) = rig.hub.views.unit(rig.hub.clock.now()).beyond
    assert (beyond.person, beyond.bed, beyond.why) == ("nurse-1", "B2", "Nobody else is here")


@pytest.mark.parametrize("harm", ["not toml at all", "others may read it", "no text"])
def test_that_a_broken_file_stops_no_answer_and_says_so(
    rig: Rig, tmp_path: Path, harm: str, caplog: pytest.LogCaptureFixture
) -> None:
    desk = SigningDesk(rig)
    path = tmp_path / PEOPLE
    sound = path.read_bytes()
    if harm == "others may read it":
        path.chmod(0o644)
    else:
        path.write_bytes(b"[[person]\n" if harm == "not toml at all" else b"\xff\xfe")
    rig.turn(1.1)
    shown = view(rig)
    assert shown is not None
    assert PEOPLE in shown.fault
    assert shown.asks == ()
    assert desk.give("", "charge-2").accepted
    path.write_bytes(sound)
    path.chmod(0o600)
    rig.turn(1.1)
    assert view(rig) is not None
    assert desk.give("", "charge-2").sign_in
    said = written(rig)
    assert said[0].startswith("Signing in is not checked: ")
    assert said[1] == "Signing in is checked again"
    expect_logged(caplog, "signing in is not checked")


def test_that_without_the_file_names_alone_count_as_before(tmp_path: Path) -> None:
    with Rig(tmp_path, secrets=tmp_path) as rig:
        desk = SigningDesk(rig)
        assert view(rig) is None
        assert desk.give("", "charge-2").accepted
        answer = desk.sign_in("charge-2", "1234")
        assert (answer.session, answer.reason) == ("", "")
        people(tmp_path, required=False)
        rig.turn(1.1)
        assert view(rig) is None
        assert desk.give("", "charge-2").accepted


def test_that_a_file_that_is_gone_asks_for_nothing_and_that_is_written_down(rig: Rig, tmp_path: Path) -> None:
    (tmp_path / PEOPLE).unlink()
    rig.turn(1.1)
    assert view(rig) is None
    assert SigningDesk(rig).give("", "charge-2").accepted
    assert written(rig) == ["Secrets are not asked for any more: there is no people.toml"]


def made_up(folder: Path) -> None:
    """Write a file whose hash nobody can look at here."""
    write_people(folder, PeopleFile(person=(Known(name="charge-2", secret="$argon2id$made-up"),)))


def test_that_without_the_package_nothing_is_checked_and_that_is_said(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    made_up(tmp_path)
    monkeypatch.setattr("monitor.hub.sign_in.is_there", lambda: False)
    with Rig(tmp_path, secrets=tmp_path) as rig:
        shown = view(rig)
        assert shown is not None
        assert shown.fault == MISSING
        desk = SigningDesk(rig)
        assert desk.sign_in("charge-2", "1234").reason == ""
        assert desk.give("", "charge-2").accepted
        assert written(rig) == [f"Signing in is not checked: {MISSING}"]
    expect_logged(caplog, "argon2-cffi is not installed")


def test_that_a_check_that_breaks_stops_nobody_and_is_written_down(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: str) -> bool:
        raise RuntimeError("no memory left")

    made_up(tmp_path)
    monkeypatch.setattr("monitor.hub.sign_in.is_there", lambda: True)
    monkeypatch.setattr("monitor.hub.sign_in.fits", broken)
    with Rig(tmp_path, secrets=tmp_path) as rig:
        desk = SigningDesk(rig)
        answer = desk.sign_in("charge-2", "1234")
        assert desk.give(answer.session, "charge-2").accepted
        assert written(rig) == ["Charge 2 signed in unchecked: the secret could not be checked (RuntimeError)"]
    expect_logged(caplog, "a secret could not be checked")
