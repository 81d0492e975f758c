"""What falls due while the hub is down happens once, within a second of the restart, in words that are true then.

The hub is dropped as a kill would: nothing is tidied up. (Invariants 3 and 7.)
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from monitor.core.commands import COMMANDS
from monitor.core.entries import Entry, EntryKind
from monitor.core.wire import CommandAnswer
from monitor.settings import load_configuration
from shared.instant import MINUTE, SECOND
from shared.support import Support, describe_run
from tests.helpers.disk import fill, small_disk
from tests.helpers.hub import CONFIG, Rig
from tests.helpers.hub_play import give
from tests.helpers.logged import expect_logged

K = EntryKind
RUN = describe_run(Support.VA, "B8-again", 1).model_dump(mode="json")


@pytest.fixture
def rig(tmp_path: Path) -> Iterator[Rig]:
    with Rig(tmp_path) as rig:
        rig.times.stand_still()  # a start of the hub takes what it takes: here it is one moment
        yield rig


class Given:
    """Commands given at a desk, one after the other; times are minutes from now."""

    def __init__(self, rig: Rig) -> None:
        self.rig, self.desk = rig, rig.desk()
        self._number = 0

    def tell(self, kind: str, person: str = "charge-2", **said: Any) -> CommandAnswer:
        self._number += 1
        now = self.rig.hub.clock.now()
        said |= {name: now + said[name] * MINUTE for name in ("until", "back") if name in said}
        command = {"id": f"given-{self._number}", "kind": kind, "person": person, **said}
        answer = give(self.rig, self.desk, COMMANDS.validate_python(command, strict=False))
        assert answer.accepted, (kind, answer.reason)
        return answer

    def take(self, bed: str, person: str, **said: Any) -> None:
        episode = self.rig.hub.judge.engine.tile(bed, self.rig.hub.clock.now()).episodes[0]
        self.tell("take", person, bed=bed, alert=episode.lead, revision=episode.revision, **said)

    def everything(self) -> None:
        """One of everything that ends, or asks, by itself."""
        self.tell("run_start", bed="B8", run=RUN)
        self.take("B8", "nurse-8", reason="at_bedside")
        self.tell("audio_pause", bed="B2")
        self.tell("limit", bed="B1", rule="map_low", value=55.0, until=20)
        self.tell("call_me", bed="B1", quantity="pump_flow", below=3.5, calls="intensivist-1", until=20)
        self.tell("transport_start", bed="B3", leader="nurse-3", back=25, cylinder_l=80.0, sweep=2.0)
        self.tell("break", "deputy", who="nurse-2", cover="deputy", minutes=20)
        self.tell("offer", giver="nurse-5", to="deputy")
        self.tell("unreachable", who="surgeon-3", until=20)
        self.tell("trial_start", bed="B7", trial="sweep_off", until=16, second="nurse-7")


def down(rig: Rig, minutes: float) -> list[Entry]:
    """Drop the hub for so long; give what it wrote within a second of the restart, oldest first."""
    rig.turn(1.0)
    before = len(rig.record.entries(None, 500))
    rig.drop()
    rig.times.ms += round(minutes * MINUTE)
    back = rig.hub.clock.now()
    rig.up()
    rig.turn()
    found = rig.record.entries(None, 500)[::-1][before:]
    assert all(entry.at - back < SECOND for entry in found)
    assert rig.hub.judge.defects == 0
    return found


def of(entries: list[Entry], kind: EntryKind) -> list[tuple[str | None, str | None]]:
    return [(entry.bed, entry.text) for entry in entries if entry.kind is kind]


def notes(entries: list[Entry], word: str) -> list[tuple[str | None, str | None]]:
    return [(entry.person, entry.text) for entry in entries if entry.kind is K.NOTE and word in (entry.text or "")]


def test_that_everything_that_ended_while_the_hub_was_down_ends_once_at_the_restart(rig: Rig) -> None:
    Given(rig).everything()
    found = down(rig, 65)
    assert of(found, K.AUDIO_BACK) == [("B2", "Desk sound back: time is up")]
    assert of(found, K.LIMIT_ENDED) == [
        ("B1", "Own limit ended, by its time: MAP below 55 mmHg; the default stands")
    ]
    assert of(found, K.CALL_ME_ENDED) == [("B1", "No longer: call Intensivist 1 if Flow below 3.5 L/min")]
    assert of(found, K.TRIAL_ENDED) == [("B7", "Trial ended: sweep off, by its time; limits return")]
    assert notes(found, "ends in") == [], "nothing that is over ends in some minutes"
    assert [e.person for e in found if e.kind is K.BREAK_ENDED] == ["nurse-2"]
    assert [e.person for e in found if e.kind is K.REACHABLE] == ["surgeon-3"]
    assert [(e.bed, e.rule) for e in found if e.kind is K.HOLD_ENDED] == [("B8", "limits_not_set")]
    raised = [e.rule for e in found if e.kind in (K.RAISED, K.FOLDED, K.PROMOTED) and e.bed == "B3"]
    assert raised == ["gas_short", "gas_critical", "transport_late"]
    what = "Bedside nurse B5: offered to Deputy 65 min ago, not accepted; Nurse 5 keeps it"
    assert notes(found, "not accepted") == [("nurse-5", what), ("deputy", what)]
    assert [e.kind for e in down(rig, 0.05) if e.kind is not K.NOTE] == [], "nothing twice"
    assert rig.record.verify() is None


def test_that_what_is_told_late_says_what_is_left_at_the_restart(rig: Rig) -> None:
    Given(rig).everything()
    found = down(rig, 13)
    assert notes(found, "Trial") == [("charge-2", "Trial sweep off ends in 3 min")]
    assert notes(found, "Own limit") == [
        ("charge-2", "Own limit ends in 7 min: MAP below 55 mmHg; the default returns"),
    ]
    assert [text for _, text in of(found, K.RAISED)] != []
    assert of(found, K.BREAK_ENDED) == of(found, K.LIMIT_ENDED) == of(found, K.TRIAL_ENDED) == []
    later = down(rig, 2)
    assert notes(later, "Trial") == [("charge-2", "Trial sweep off ends in 1 min")]


def test_that_a_reason_owed_is_asked_for_once_after_the_restart(tmp_path: Path) -> None:
    """With a reminder after two minutes, so that the three minutes of a high's hold still run."""
    shipped = load_configuration(CONFIG)
    holds = shipped.ladder.holds.model_copy(update={"reason_within_s": 120.0})
    ladder = shipped.ladder.model_copy(update={"holds": holds})
    with Rig(tmp_path, shipped.model_copy(update={"ladder": ladder})) as rig:
        rig.times.stand_still()
        given = Given(rig)
        given.tell("help", bed="B7", what="air")
        given.take("B7", "nurse-7", where="at_bed")
        assert notes(down(rig, 2.5), "Why") == [("nurse-7", "Why it was taken is not written down yet")]
        found = down(rig, 1)
        assert notes(found, "Why") == []
        assert [entry.person for entry in found if entry.kind is K.HOLD_ENDED] == ["nurse-7"]


def test_that_nobody_on_any_rung_is_said_again_after_the_restart_and_not_twice(rig: Rig) -> None:
    given = Given(rig)
    for rung in (2, 3, 4, 5):
        given.tell("roster", rung=rung, stands=None)
    given.tell("roster", rung=1, stands=None)
    for bed in ("B1", "B2", "B3", "B4", "B5", "B6", "B7", "B8"):
        given.tell("roster", rung=1, bed=bed, stands=None)
    given.tell("help", bed="B7", what="air")
    rig.turn(1.0)
    found = [entry for entry in down(rig, 30) if entry.kind is K.NOBODY_THERE and entry.bed == "B7"]
    assert len(found) == 1
    assert found[0].text == "nobody can be called: telephone"
    given.tell("roster", rung=4, stands="intensivist-4")
    rig.turn()
    called = [e.person for e in rig.record.entries("B7", 50) if e.kind is K.CALLED]
    assert called == ["intensivist-4"], "called at once when somebody is there"


def test_that_commands_on_a_full_disk_count_say_so_and_are_written_later(
    tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with small_disk(tmp_path / "small", "2m") as place, Rig(place) as rig:
        given = Given(rig)
        ballast = fill(place)
        rig.turn(1.0)
        answers = []
        with_room = len(rig.record.entries(None, 500))
        for kind, said in (
            ("audio_pause", {"bed": "B2"}),
            ("limit", {"bed": "B1", "rule": "map_low", "value": 55.0, "until": 20}),
            ("call_me", {"bed": "B1", "quantity": "pump_flow", "below": 3.5, "calls": "surgeon-3", "until": 20}),
            ("break", {"person": "deputy", "who": "nurse-2", "cover": "deputy", "minutes": 20}),
            ("unreachable", {"who": "surgeon-3", "until": 20}),
            ("offer", {"giver": "nurse-5", "to": "deputy"}),
            ("transport_start", {"bed": "B3", "leader": "nurse-3", "back": 25, "cylinder_l": 400.0, "sweep": 2.0}),
        ):
            answers.append(given.tell(kind, **said))
        assert [answer.recorded for answer in answers] == [False] * len(answers)
        assert len(rig.record.entries(None, 500)) == with_room
        engine, now = rig.hub.judge.engine, rig.hub.clock.now()
        assert engine.tile("B2", now).audio_paused is not None
        assert engine.tile("B3", now).transport is not None
        assert len(engine.unit(now).roster.offers) == 1
        ballast.unlink()
        rig.until(lambda: rig.hub.keeper.not_recorded is None, lambda: rig.turn(1.0))
        written = {entry.command for entry in rig.record.entries(None, 500)}
        assert {answer.id for answer in answers} <= written
        assert rig.record.verify() is None
        expect_logged(caplog, "NOT RECORDED", "the record takes writes again")
