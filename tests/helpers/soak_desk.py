"""A desk as a process, with somebody at it.

``python -m tests.helpers.soak_desk desk|review FOLDER PUBLISH COMMANDS``

The window is the real one, on a screen in memory. Every second the hand opens another page or bed; at the desk it
also answers what is called, and says that it has seen what is over. How far the desk has come it writes beside the
shared clock.
"""

import os
import sys
import time
from collections.abc import Iterator
from itertools import cycle
from pathlib import Path
from uuid import uuid4

from PySide6.QtCore import Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication

from monitor.core.commands import Command, Reason, Seen, Take
from monitor.core.endpoints import Endpoints
from monitor.core.grades import Priority
from monitor.core.view import EpisodeView
from monitor.desk.opening import DeskOptions, run_desk
from monitor.desk.session import Session
from monitor.desk.unit_desk import HubGiven
from monitor.desk.window import DeskWindow
from monitor.settings.card_files import cards_in
from shared.stopping import StopRequested
from tests.helpers.pace import Pace, Place

#: Looks of the desk, five a second, between two acts of the hand.
_LOOKS = 5
_ANSWERS_AT_ONCE = 3
#: Keys of the pages, every six seconds one of them and two beds: all that a desk ever shows has been shown within a
#: few minutes. For the handover cards (x) the hub has a process go through 12 h of its record: seldom.
_PAGES = "x" + 4 * "rlpovbje"
#: Acts in which every page has been opened, and every one of 64 beds.
_ROUND = 6 * len(_PAGES)
_ROUNDS = {Place.DESK: Place.DESK_ROUND, Place.REVIEW: Place.REVIEW_ROUND}


class Hand:
    """Who sits there."""

    def __init__(self, pace: Pace, place: Place) -> None:
        self._pace, self._place, self._looks, self._acts = pace, place, 0, 0
        self._pages: Iterator[str] = cycle(_PAGES)
        self._beds: Iterator[int] = cycle(range(64))

    def __call__(self, session: Session) -> bool:
        """Look, and sometimes do something; never the end of the desk."""
        self._pace[self._place] = session.store.clock.last_word
        self._looks += 1
        if session.store.tiles and (self._acts < _ROUND or self._looks % _LOOKS == 0):  # the first round is quick
            self._turn_a_page(session)
            self._acts += 1
            self._pace[_ROUNDS[self._place]] = self._acts // _ROUND
            if self._place is Place.DESK:
                self._answer(session)
        return False

    def _turn_a_page(self, session: Session) -> None:
        window = next(w for w in QApplication.topLevelWidgets() if isinstance(w, DeskWindow))
        act = self._acts % 6
        if act in (0, 2):
            beds = session.store.beds()
            window.go_to(beds[next(self._beds) % len(beds)])
        elif act == 4:
            window.toggle_page(next(self._pages))
        else:
            QTest.keyClick(window, Qt.Key.Key_Escape)

    def _answer(self, session: Session) -> None:
        answers = [a for bed, episode in session.store.needs() if bed is not None for a in _answers(bed, episode)]
        for answer in answers[:_ANSWERS_AT_ONCE]:
            session.command(answer, time.monotonic())


def _answers(bed: str, episode: EpisodeView) -> Iterator[Command]:
    said: dict[str, object] = {"id": uuid4().hex, "person": f"nurse-{bed}", "bed": bed}
    said |= {"alert": episode.lead, "revision": episode.revision}
    if episode.over:
        yield Seen.model_validate(said)
    elif episode.holder is None and episode.priority is not Priority.LOW:
        yield Take.model_validate(said | {"reason": Reason.AT_BEDSIDE})


def main(kind: str, folder: Path, publish: str, commands: str) -> None:
    """Stay until SIGTERM."""
    os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")
    place = Place.REVIEW if kind == "review" else Place.DESK
    size = (1366, 768) if place is Place.REVIEW else (1920, 1080)
    options = DeskOptions(size=size, review=place is Place.REVIEW, sound_checked=True)
    endpoints = Endpoints(publish=publish, commands=commands)
    hand = Hand(Pace(folder / "pace"), place)
    with StopRequested() as stop:
        run_desk([HubGiven(endpoints, emergency_cards=lambda: cards_in(folder))], options, stop=stop, over=hand)


if __name__ == "__main__":
    main(sys.argv[1], Path(sys.argv[2]), sys.argv[3], sys.argv[4])
