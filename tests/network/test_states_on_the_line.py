"""What a desk says of its hub over real sockets: never there, gone, a key that it refuses, its disk full.

The words are those of ``MANUAL.md`` (*When something fails*), which `tests/gui/test_states_said.py` holds to it.
"""

import logging
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest
from pytestqt.qtbot import QtBot

from monitor.desk.header_face import Banner
from monitor.desk.link_state import LinkState
from monitor.desk.reach import Reach
from monitor.desk.unit_desk import HubGiven, UnitDesk
from shared.keys import Keys
from tests.helpers.desk import type_keys
from tests.helpers.disk import fill, small_disk
from tests.helpers.hub import Rig, bed, free_endpoints
from tests.helpers.hub_play import LOW
from tests.helpers.keyed import KeyedUnit
from tests.helpers.logged import expect_logged


class Watched:
    """A desk at a hub, on a clock that can be put forward."""

    def __init__(self, qtbot: QtBot, rig: Rig | None, keys: Keys | None = None) -> None:
        self.ahead = 0.0
        self._rig = rig
        endpoints = rig.endpoints if rig is not None else free_endpoints()
        self.at = endpoints.commands
        self.desk = UnitDesk(HubGiven(endpoints, keys), "day", False, self.now)
        self.window = self.desk.window
        self.link = self.desk.session.store.link
        qtbot.addWidget(self.window)
        self.window.resize(1366, 768)
        self.window.show()

    def now(self) -> float:
        return time.monotonic() + self.ahead

    def until(self, condition: Callable[[], bool], *doing: Callable[[], object]) -> None:
        ends = time.monotonic() + 20.0
        while not condition():
            assert time.monotonic() < ends, "it did not happen in time"
            for do in doing:
                do()
            if self._rig is not None and self._rig.is_up:
                self._rig.turn()
            self.window.take_heard()
            self.window.tick()

    @property
    def banner(self) -> Banner:
        face = self.window.header.face
        assert face is not None
        assert face.banner is not None
        return face.banner


@contextmanager
def watched(qtbot: QtBot, rig: Rig | None, keys: Keys | None = None) -> Iterator[Watched]:
    made = Watched(qtbot, rig, keys)
    made.desk.client.start()
    try:
        yield made
    finally:
        made.desk.client.stop()


def test_that_a_hub_that_was_never_there_is_named_with_what_to_look_at(qtbot: QtBot) -> None:
    with watched(qtbot, None) as one:
        one.until(lambda: one.link.reach is Reach.NOTHING)
        one.ahead += 16
        one.until(lambda: one.link.state is LinkState.NOT_LIVE)
        said = one.banner
        assert said.title == "No hub found"
        assert said.below == f"{one.at}, no key: nothing answers there"
        assert said.words.endswith("Look at the address (--hub), the network, and whether the hub runs.")
        assert said.phones == "Go to the beds. Telephone: the list on paper at the desk"


def test_that_a_hub_that_is_gone_leaves_the_time_and_the_telephones_and_that_nothing_is_taken(
    qtbot: QtBot, tmp_path: Path
) -> None:
    with Rig(tmp_path) as rig, watched(qtbot, rig) as one:
        one.until(lambda: one.link.state is LinkState.LIVE)
        rig.drop()
        one.ahead += 5
        one.until(lambda: one.link.state is LinkState.LATE)
        face = one.window.header.face
        assert face is not None
        assert face.link.startswith("Hub silent for ")
        one.ahead += 12
        one.until(lambda: one.link.state is LinkState.NOT_LIVE and one.link.reach is Reach.NOTHING)
        one.window.tick()
        assert one.banner.title.startswith("Not live since ")
        assert "nothing can be taken from here" in one.banner.words
        assert one.banner.phones.startswith("Go to the beds. Telephone: ")
        assert not one.link.commands_allowed
        rig.up()
        one.until(lambda: one.link.state is LinkState.LIVE)


def test_that_a_key_that_is_refused_is_named_with_where_to_have_it_listed(
    qtbot: QtBot, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    unit = KeyedUnit(tmp_path)
    odd = unit.stranger()
    with (
        caplog.at_level(logging.CRITICAL, logger="monitor.hub"),
        Rig(tmp_path, keys=tmp_path) as rig,
        watched(qtbot, rig, odd) as one,
    ):
        one.until(lambda: one.link.reach is Reach.REFUSED)
        one.ahead += 16
        one.until(lambda: one.link.state is LinkState.NOT_LIVE and one.link.reach is Reach.REFUSED)
        one.window.tick()
        assert one.banner.title == "No hub found"
        assert "the hub refuses this key" in one.banner.below
        assert one.desk.session.store.link.hub.key in one.banner.below
        assert "weirkeeper keys list" in one.banner.words


def test_that_a_full_disk_at_the_hub_stands_on_the_strip_until_it_has_room_and_on_each_answer(
    qtbot: QtBot, tmp_path: Path, caplog: pytest.LogCaptureFixture
) -> None:
    with small_disk(tmp_path / "disk", "2m") as disk, Rig(disk) as rig, watched(qtbot, rig) as one:
        feed = rig.feed("ward", bed("B1"))
        one.until(lambda: one.link.state is LinkState.LIVE)
        ballast = fill(disk)

        def read() -> None:
            rig.times.ms += 1000
            feed.read("B1", rig.hub.clock.now(), readings=LOW)

        one.until(lambda: "NOT RECORDED since " in one.window.strip.text(), read)
        assert "the record refuses writes" in one.window.strip.text()
        assert "Write on paper what you answer. Have the hub's disk looked at" in one.window.strip.text()
        one.until(lambda: any(bed == "B1" for bed, _ in one.desk.session.store.needs()), read)
        one.window.people.sign_in("charge-2")
        one.window.board.set_focus_bed("B1")
        type_keys(one.window, "s")
        one.until(lambda: "NOT RECORDED: write it down" in one.window.footer.face.told)
        ballast.unlink()
        one.until(lambda: one.window.strip.isHidden() or "NOT RECORDED" not in one.window.strip.text(),
                  lambda: rig.turn(0.5))  # fmt: skip
    expect_logged(caplog, "NOT RECORDED", "takes writes again")
