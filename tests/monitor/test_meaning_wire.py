"""A desk asks a real hub what the numbers of a run mean."""

from pathlib import Path

import pytest

from monitor.core.wire import AskMeaning, Meant
from tests.helpers.hub import Rig
from tests.helpers.logged import expect_logged


def test_that_the_hub_answers_for_each_run_and_says_where_there_is_none(tmp_path: Path) -> None:
    with Rig(tmp_path) as rig:
        desk = rig.desk()
        for slot in (1, 2):
            desk.ask.say("desk", AskMeaning(request=f"m:{slot}", bed="B1", slot=slot))
        desk.ask.say("desk", AskMeaning(request="m:none", bed="nowhere", slot=1))
        rig.until(lambda: len(desk.ask.of(Meant)) == 3)
        answers = {answer.request: answer.meaning for answer in desk.ask.of(Meant)}
        stands = answers["m:1"]
        assert stands is not None
        assert (stands.bed, stands.slot) == ("B1", 1)
        assert stands.at <= rig.hub.clock.now()
        assert answers["m:2"] is None
        assert answers["m:none"] is None


def test_that_a_defect_in_it_costs_this_answer_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def fails(*_: object) -> None:
        raise ZeroDivisionError

    with Rig(tmp_path) as rig:
        desk = rig.desk()
        monkeypatch.setattr(rig.hub.judge.engine, "meaning", fails)
        desk.ask.say("desk", AskMeaning(request="m:1", bed="B1", slot=1))
        rig.until(lambda: bool(desk.ask.of(Meant)))
        assert desk.ask.of(Meant)[0].meaning is None
        assert rig.hub.views.defects == 1
        expect_logged(caplog, "what the numbers of B1 mean cannot be made")
