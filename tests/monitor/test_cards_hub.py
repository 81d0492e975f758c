"""The cards' figures as a desk gets them: by a process of its own, the same as on paper, while judging goes on."""

import json
import sys
from pathlib import Path

import pytest

from monitor.cli.hub_children import card_command
from monitor.cli.main import main
from monitor.core.cards import CardFigures
from monitor.core.wire import AskCards, Cards, NotUnderstood
from monitor.hub.cards import CardMaker
from monitor.record.reading import read_only
from monitor.reports.shift.cards import cards_of
from monitor.reports.shift.gather import gather
from monitor.settings import texts_in
from shared.cautions import ON_PAPER
from shared.instant import HOUR, MINUTE, SECOND
from shared.quantities import Quantity as Q
from tests.helpers.hub import CONFIG, Rig, bed
from tests.helpers.written_unit import WrittenUnit


@pytest.fixture(scope="module")
def night(tmp_path_factory: pytest.TempPathFactory) -> Path:
    unit = WrittenUnit(tmp_path_factory.mktemp("cards") / "unit.record", ("B1",))
    unit.read(12)
    unit.read(3, {"B1": {Q.PUMP_FLOW: 3.0}})
    unit.close()
    return unit.path


def figures(path: Path, hours: float = 12) -> CardFigures:
    with read_only(path) as record:
        last = record.ends()[1]
        return cards_of(gather(record.hours(last + 1 - round(hours * HOUR), last + 1), "", last))


def test_that_the_command_prints_the_figures_of_the_report(night: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*card_command(night)[3:]]) == 0
    printed = json.loads(capsys.readouterr().out)
    assert printed.pop("cautions") == list(ON_PAPER)
    said = CardFigures.model_validate_json(json.dumps(printed))
    assert said == figures(night)
    flow = next(one for card in said.beds for one in card.rows if one.quantity is Q.PUMP_FLOW)
    assert (flow.low, flow.median, flow.high) == (3.0, 4.2, 4.2)
    assert (flow.outside, flow.judged, flow.not_judged, flow.no_reading) == (3, 15, 0, 0)
    assert flow.has_target
    assert main(["report", str(night), "--hours", "0", "--json"]) == 2
    assert main(["report", str(night), "--hours", "2", "--shift", "Day", "--json"]) == 2


def test_that_a_hub_answers_while_it_goes_on_judging(tmp_path: Path) -> None:
    with Rig(tmp_path, files=texts_in(CONFIG), cards=card_command(tmp_path / "unit.record")) as rig:
        feed, desk = rig.feed("ward", bed("B1")), rig.desk()
        for second in range(1, 4):
            feed.read("B1", rig.hub.clock.now())
            rig.turn(1.0 if second < 3 else 0.5)
        for request in ("one", "two"):
            desk.ask.say("hub", AskCards(request=request))
        turns: list[int] = []
        rig.until(lambda: len(desk.ask.of(Cards)) == 2, lambda: turns.append(1), seconds=60)
        assert len(turns) > 3, "the hub's turns went on meanwhile"
        one, two = desk.ask.of(Cards)
        assert (one.request, two.request) == ("one", "two")
        assert one.figures == two.figures
        [flow] = [row for row in one.figures.beds[0].rows if row.quantity is Q.PUMP_FLOW]
        assert (flow.low, flow.high) == (4.2, 4.2)
        desk.ask.say("hub", AskCards(request="soon"))
        rig.until(lambda: len(desk.ask.of(Cards)) == 3)
        desk.ask.say("hub", AskCards(request="late"))
        rig.turn(61)
        rig.until(lambda: rig.hub.desks.cards.is_working)


def said(maker: CardMaker, *after: int) -> list[str]:
    """What a peer is told that asks, by the words of its refusals; ``after``: moments at which it is looked."""
    maker.ask(b"peer", "r")
    answers = [answer for at in after for _, answer in maker.heard(at)]
    maker.close()
    return [answer.reason for answer in answers if isinstance(answer, NotUnderstood)]


def test_that_what_cannot_be_made_is_said(tmp_path: Path, caplog: pytest.LogCaptureFixture) -> None:
    assert said(CardMaker(()), 0) == ["r: this hub makes no cards"]
    assert said(CardMaker(["/no/such/program"]), 0) == ["r: the cards cannot be made: No such file or directory"]
    for code, words in (
        ("import sys; print('no record'); sys.exit(2)", "cannot be made: no record"),
        ("import sys; sys.exit(3)", "cannot be made: it ended with 3"),
        ("print('{}')", "cannot be read: begin"),
    ):
        maker = CardMaker([sys.executable, "-c", code])
        maker.ask(b"peer", "r")
        assert maker.heard(0) == []
        assert maker._process is not None
        maker._process.wait()
        [(_, answer)] = maker.heard(1)
        assert isinstance(answer, NotUnderstood)
        assert words in answer.reason
    caplog.clear()
    slow = CardMaker([sys.executable, "-c", "import signal; signal.pause()"])
    assert said(slow, 0, 59 * SECOND, MINUTE) == ["r: the cards took too long"]
    assert not slow.is_working
