"""All that one hub has on a desk: its line, its store and session, and the window with every page of that unit."""

import time
from collections.abc import Callable
from dataclasses import dataclass
from datetime import tzinfo
from importlib import import_module
from typing import Any, Protocol

from PySide6.QtWidgets import QWidget

from monitor.core.drill import Drill
from monitor.core.emergency_cards import CardsFound
from monitor.core.endpoints import Endpoints
from monitor.core.wire import Request
from monitor.desk import aloud
from monitor.desk.bridge import Bridge
from monitor.desk.client import Client
from monitor.desk.hearing import Heard, Hearing
from monitor.desk.idle import COVER_AFTER_S, COVER_REVIEW_AFTER_S
from monitor.desk.reach import HubAddress
from monitor.desk.session import Session
from monitor.desk.store import Store
from monitor.desk.window import DeskWindow
from shared.keys import Keys, fingerprint

#: Every kind of page, the largest first: that of a bed plots, which is a third of all that is to be loaded.
PAGES = ("bed", "roster", "due", "sweep", "equipment", "cards", "emergency", "review", "load", "pages")


@dataclass(frozen=True, slots=True)
class HubGiven:
    """One hub, as the command line gives it.

    Attributes:
        keys: of this desk at that hub; ``None``: the hub is on this machine, and has no keys.
        emergency_cards: reads the unit's emergency cards; asked each time their page is opened.
        drill: its beds are invented, which is said before its first word too; ``None``: it says so itself.
    """

    endpoints: Endpoints
    keys: Keys | None = None
    emergency_cards: Callable[[], CardsFound] = lambda: CardsFound({})
    drill: Drill | None = None


class Line(Protocol):
    """A desk's way to its hub."""

    hearing: Hearing

    def start(self) -> None:
        """Begin to hear."""

    def stop(self) -> None:
        """End."""

    def send(self, request: Request) -> None:
        """Send a request; never wait."""

    def ask_anew(self) -> None:
        """Ask for everything anew with the hub's next word."""


class UnitDesk:
    """A client, a session and a window of its own: nothing in it is known to another unit's.

    Args:
        zone: where written clock times are; ``None``: that of this machine.
        line: makes the way to the hub, given where what is heard goes; ``None``: a `Client` on its sockets.

    Raises:
        ConfigurationError: an address leaves this machine, and there are no keys.
    """

    def __init__(
        self,
        hub: HubGiven,
        theme: str,
        review: bool,
        monotonic: Callable[[], float] = time.monotonic,
        zone: tzinfo | None = None,
        line: Callable[[Callable[[Heard], None]], Line] | None = None,
    ) -> None:
        bridge, at, keys = Bridge(), hub.endpoints, hub.keys
        key = fingerprint(keys.own_public.decode()) if keys is not None else ""
        self.client: Line = (
            line(bridge.deliver)
            if line is not None
            else Client("" if review else at.publish, at.commands, bridge.deliver, monotonic, keys)
        )
        store = Store(monotonic(), HubAddress(at.commands, key))
        self.session = session = Session(store, self.client.send, self.client.ask_anew, lean=review)
        cover_after_s = COVER_REVIEW_AFTER_S if review else COVER_AFTER_S
        aloud.install()
        self.window = window = DeskWindow(session, bridge, monotonic, theme, zone, cover_after_s)
        window.show_drill(hub.drill)
        window.set_bed_page_factory(lambda bed: _bed_page(bed, window))
        window.add_page("r", lambda: page_of("roster").RosterPage(session, window.roster, window.theme))
        window.add_page("l", lambda: page_of("load").LoadPage(session, window.theme))
        window.add_page("p", lambda: page_of("pages").PagesPage(session, window.theme))
        window.add_page("o", lambda: page_of("due").DuePage(window))
        window.add_page("v", lambda: page_of("sweep").SweepPage(window))
        window.add_page("x", lambda: page_of("cards").CardsPage(window))
        window.add_page("b", lambda: page_of("equipment").EquipmentPage(window))
        window.add_page("j", lambda: page_of("review").ReviewPage(window))
        window.home = "j" if review else ""
        window.add_page("e", lambda: page_of("emergency").EmergencyPage(window, hub.emergency_cards()))


def page_of(kind: str) -> Any:
    """Load a kind of page, one of `PAGES`, if it is not there yet, and give its module: the board comes first."""
    return import_module(f"monitor.desk.{kind}page.page")


def _bed_page(bed: str, window: DeskWindow) -> QWidget:
    page: QWidget = page_of("bed").BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    return page
