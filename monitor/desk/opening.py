"""Opening a desk: application, client, window, and a clean end on a closed window, Ctrl-C or SIGTERM."""

import sys
import time
from collections.abc import Callable
from dataclasses import dataclass
from importlib import import_module
from types import ModuleType

from PySide6.QtCore import QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QWidget

from monitor.core.emergency_cards import CardsFound
from monitor.core.endpoints import Endpoints
from monitor.desk.bridge import Bridge
from monitor.desk.cardspage.page import CardsPage
from monitor.desk.client import Client
from monitor.desk.duepage.page import DuePage
from monitor.desk.emergencypage.page import EmergencyPage
from monitor.desk.equipmentpage.page import EquipmentPage
from monitor.desk.idle import COVER_AFTER_S, COVER_REVIEW_AFTER_S
from monitor.desk.loadpage.page import LoadPage
from monitor.desk.pagespage.page import PagesPage
from monitor.desk.reviewpage.page import ReviewPage
from monitor.desk.rosterpage.page import RosterPage
from monitor.desk.session import Session
from monitor.desk.sound.desk_sound import DeskSound
from monitor.desk.sound.player import Player
from monitor.desk.store import Store
from monitor.desk.sweeppage.page import SweepPage
from monitor.desk.window import DeskWindow
from shared.keys import Keys
from shared.stopping import StopRequested

_LOOK_MS = 200
#: The parts of bed pages, a third of all that is to be loaded, come so long after the board.
_BED_PAGES_AFTER_S = 3.0
PICTURE_SIZE = (1920, 1080)
#: What `DeskOptions.page` names besides beds, and the key of each.
PAGES = {"load": "l", "due": "o", "sweep": "v", "handover": "x", "equipment": "b", "emergency": "e", "review": "j"}


@dataclass(frozen=True, slots=True)
class DeskOptions:
    """How a desk opens.

    Attributes:
        theme: ``day`` or ``night``.
        size: of the window in pixels; ``None``: the whole screen, or `PICTURE_SIZE` with a picture.
        still: reduced motion.
        picture: a PNG file to write before leaving.
        page: the bed whose page, or what of `PAGES`, is opened as soon as the hub has told of the beds.
        review: it is used elsewhere on the unit network, not at the shared desk.
        sound_checked: the start-up check of the sound counts as answered.
    """

    theme: str = "day"
    size: tuple[int, int] | None = None
    still: bool = False
    picture: str | None = None
    page: str | None = None
    sound_checked: bool = False
    review: bool = False


def run_desk(
    endpoints: Endpoints,
    options: DeskOptions,
    *,
    stop: StopRequested,
    over: Callable[[Session], bool] = lambda _: False,
    watch: Callable[[], None] = lambda: None,
    open_form: Callable[[str, str | None], str] | None = None,
    emergency_cards: Callable[[], CardsFound] = lambda: CardsFound({}),
    keys: Keys | None = None,
) -> bool:
    """Show a desk until it is closed, or until ``over``; then take the picture, if one is wanted.

    Args:
        stop: Ctrl-C and SIGTERM, entered by the caller before anything was started. A timer looks at it, so that
            one which comes before Qt's loop runs is not lost.
        over: asked a few times a second; true ends the desk.
        watch: called a few times a second; what it raises ends the desk and is raised again.
        emergency_cards: reads the unit's emergency cards; asked each time their page is opened.
        open_form: opens the entry form for a bed and a person, and gives what is said of it.
        keys: of this desk; ``None``: the hub is on this machine, and has no keys.

    Raises:
        ConfigurationError: an address leaves this machine, and there are no keys.

    Returns:
        False where a picture was wanted and could not be written.
    """
    application = QApplication.instance() or QApplication(sys.argv[:1])
    bridge = Bridge()
    client = Client("" if options.review else endpoints.publish, endpoints.commands, bridge.deliver, keys=keys)
    session = Session(Store(time.monotonic()), client.send, lean=options.review)
    cover_after_s = COVER_REVIEW_AFTER_S if options.review else COVER_AFTER_S
    window = DeskWindow(session, bridge, time.monotonic, options.theme, cover_after_s=cover_after_s)
    window.set_still(options.still)
    if open_form is not None:
        window.set_entry_form(open_form)
    window.set_bed_page_factory(lambda bed: _bed_page(bed, window))
    window.add_page("r", lambda: RosterPage(session, window.roster, window.theme))
    window.add_page("l", lambda: LoadPage(session, window.theme))
    window.add_page("p", lambda: PagesPage(session, window.theme))
    window.add_page("o", lambda: DuePage(window))
    window.add_page("v", lambda: SweepPage(window))
    window.add_page("x", lambda: CardsPage(window))
    window.add_page("b", lambda: EquipmentPage(window))
    window.add_page("j", lambda: ReviewPage(window))
    window.home = "j" if options.review else ""
    window.add_page("e", lambda: EmergencyPage(window, emergency_cards()))
    if options.size is not None or options.picture:
        window.resize(*(options.size or PICTURE_SIZE))
        window.show()
    else:
        # Where nothing manages windows, asking for the whole screen changes no size: it is set besides.
        window.setGeometry(QGuiApplication.primaryScreen().availableGeometry())
        window.showMaximized()
    player = Player()
    sound = DeskSound(
        session,
        window.people,
        player,
        window.show_sound,
        time.monotonic,
        window.show_caption,
        options.sound_checked,
    )
    window.set_sound_key(sound.take_key)
    window.changed.connect(sound.changed)
    bed_pages_at = time.monotonic() + _BED_PAGES_AFTER_S
    failures: list[Exception] = []
    saved: list[bool] = []
    opened: list[str] = []

    def look() -> None:
        if stop.now:
            application.quit()
            return
        try:
            watch()
            sound.tick()
            if time.monotonic() >= bed_pages_at:
                _bed_pages()
            page = options.page or ("review" if options.review else None)
            if page and not opened and session.store.tiles:
                opened.append(page)
                _open_page(window, page)
            if over(session) and not saved:
                saved.append(not options.picture or window.grab().save(options.picture, "PNG"))
                window.close()
                application.quit()
        except Exception as failure:  # whatever it is, it is raised again below
            failures.append(failure)
            application.quit()

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(_LOOK_MS)
    client.start()
    window.start()
    try:
        application.exec()
    finally:
        timer.stop()
        client.stop()
        player.close()
    if failures:
        raise failures[0]
    return all(saved)


def _bed_pages() -> ModuleType:
    """Load the parts of bed pages, if they are not there yet: what plots is large, and the board comes first."""
    return import_module("monitor.desk.bedpage.page")


def _bed_page(bed: str, window: DeskWindow) -> QWidget:
    page: QWidget = _bed_pages().BedPage(bed, window.session, window.answering, window.theme, window.go_to)
    return page


def _open_page(window: DeskWindow, page: str) -> None:
    """Open a bed's page, or one of no bed; what is not there opens nothing."""
    if page in window.session.store.tiles:
        window.go_to(page)
    elif page in PAGES:
        window.toggle_page(PAGES[page])
