"""Opening a desk: application, clients, windows, and a clean end on a closed window, Ctrl-C or SIGTERM."""

import gc
import os
import sys
import time
from collections import deque
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from PySide6.QtCore import QCoreApplication, QSize, QTimer
from PySide6.QtDBus import QDBusConnection
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication, QWidget

from monitor.desk.awake import Awake
from monitor.desk.drill.given import DrillRuns
from monitor.desk.session import Session
from monitor.desk.sound.desk_sound import DeskSound, Heeded
from monitor.desk.sound.player import Player
from monitor.desk.store import Store
from monitor.desk.unit_desk import PAGES as KINDS_OF_PAGES
from monitor.desk.unit_desk import HubGiven, UnitDesk, page_of
from monitor.desk.window import DeskWindow
from shared.given_back import FreeMemory, give_back_big_blocks
from shared.look.screen import SCALE, Screen, ScreenTable, stand_on
from shared.look.sizes import USUAL_PITCH
from shared.stopping import StopRequested

if TYPE_CHECKING:  # what not every desk shows is loaded where it is shown
    from monitor.desk.drill.frame import DrillFrame
    from monitor.desk.tour.frame import TourFrame
    from monitor.desk.units.frame import UnitsFrame

_LOOK_MS = 200
#: The parts of pages, nearly half of all that is to be loaded, come so long after the board, one kind at a look:
#: when the trends have their past, and at the latest then.
_PAGES_AFTER_S, _PAGES_AT_LATEST_S = 3.0, 10.0
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
        tour: a guided tour stands under the window of the one hub.
        screen: what the station says of its screen; ``None``: the usual sizes.
        sound_checked: the start-up check of the sound counts as answered.
        text_asked: the size of text that was asked for, %: more than the screen's where that had no room.
    """

    theme: str = "day"
    size: tuple[int, int] | None = None
    still: bool = False
    picture: str | None = None
    page: str | None = None
    sound_checked: bool = False
    review: bool = False
    tour: bool = False
    screen: ScreenTable | None = None
    text_asked: int = 100


def run_desk(
    hubs: Sequence[HubGiven],
    options: DeskOptions,
    *,
    stop: StopRequested,
    over: Callable[[Session], bool] = lambda _: False,
    watch: Callable[[], None] = lambda: None,
    open_form: Callable[[str, str | None], str] | None = None,
    drill: DrillRuns | None = None,
    course: str | None = None,
) -> bool:
    """Show a desk until it is closed, or until ``over``; then take the picture, if one is wanted.

    Args:
        hubs: one, or several that a review watches at once; none: nobody is watched, and a drill is all there is.
        stop: Ctrl-C and SIGTERM, entered by the caller before anything was started. A timer looks at it, so that
            one which comes before Qt's loop runs is not lost.
        over: asked a few times a second of the first hub's session, or of the drill's; true ends the desk.
        watch: called a few times a second; what it raises ends the desk and is raised again.
        open_form: opens the entry form for a bed and a person, and gives what is said of it; with one hub alone.
        drill: puts drills together, which key F9 offers; with one hub alone, or with none.
        course: of the drill that begins at once, where there is no hub; beside one, a drill is offered as soon as
            that is heard. ``None``: with the key alone.

    Raises:
        ConfigurationError: an address leaves this machine, and there are no keys; or the drill cannot begin.
        OSError: there is no room for a drill.

    Returns:
        False where a picture was wanted and could not be written.
    """
    give_back_big_blocks()
    free = FreeMemory()
    application = _application(options.screen, options.text_asked)
    desks = [UnitDesk(hub, options.theme, options.review) for hub in hubs]
    windows = [desk.window for desk in desks]
    for window in windows:
        window.set_still(options.still)
    if open_form is not None and len(windows) == 1:
        windows[0].set_entry_form(open_form)
    frame = _drill_frame(windows, options, drill)
    shown = frame if frame is not None else _shown(windows, options)
    _show(shown, options)
    for desk in desks:
        desk.client.start()  # it looks for its hub while the rest is made; what it hears waits for Qt's loop
    player = Player()
    sound = DeskSound(
        _heeded(desks),
        player,
        shown.show_sound,
        time.monotonic,
        shown.show_caption,
        options.sound_checked or not desks,
    )
    shown.set_sound_key(sound.take_key)
    for place, window in enumerate(windows):
        window.changed.connect(lambda changes, place=place: sound.changed(changes, place))
    began = time.monotonic()
    failures: list[Exception] = []
    saved: list[bool] = []
    opened: list[str] = []
    not_loaded = deque(KINDS_OF_PAGES)

    def look() -> None:
        if stop.now:
            application.quit()
            return
        try:
            watch()
            sound.tick()
            free.look(round(time.monotonic() * 1000))
            passed = time.monotonic() - began
            is_filling = any(desk.session.is_filling for desk in desks) and passed < _PAGES_AT_LATEST_S
            if not_loaded and passed >= _PAGES_AFTER_S and not is_filling:
                page_of(not_loaded.popleft())
                if not not_loaded:
                    gc.freeze()  # what is there now stays: no search for garbage among it stops the board for 0.1 s
            page = options.page or ("review" if options.review else None)
            if len(windows) == 1 and page and not opened and windows[0].session.store.tiles:
                opened.append(page)
                _open_page(windows[0], page)
            session = desks[0].session if desks else frame.session if frame is not None else None
            if session is not None and over(session) and not saved:
                saved.append(not options.picture or shown.grab().save(options.picture, "PNG"))
                shown.close()
                application.quit()
        except Exception as failure:  # whatever it is, it is raised again below
            failures.append(failure)
            application.quit()

    timer = QTimer()
    timer.timeout.connect(look)
    timer.start(_LOOK_MS)
    shown.start()
    awake = Awake(QDBusConnection.sessionBus(), shown.footer.show_dark) if _can_go_dark() else None
    try:
        if frame is not None and course is not None:
            frame.begin_when_heard(course)
        application.exec()
    finally:
        timer.stop()
        if frame is not None:
            frame.leave()
        for desk in desks:
            desk.client.stop()
        player.close()
        del awake
    if failures:
        raise failures[0]
    return all(saved)


def _drill_frame(
    windows: Sequence[DeskWindow], options: DeskOptions, drill: DrillRuns | None
) -> "DrillFrame | None":
    if drill is None or len(windows) > 1:
        return None
    from monitor.desk.drill.frame import DrillFrame

    live = windows[0] if windows else None
    return DrillFrame(live, drill, time.monotonic, partial(_drill_desk, options), options.theme)


def _shown(windows: Sequence[DeskWindow], options: DeskOptions) -> "DeskWindow | UnitsFrame | TourFrame":
    if len(windows) > 1:
        from monitor.desk.units.frame import UnitsFrame

        return UnitsFrame(windows, time.monotonic)
    if options.tour:
        from monitor.desk.tour.frame import TourFrame

        return TourFrame(windows[0])
    return windows[0]


def _drill_desk(options: DeskOptions, hub: HubGiven, theme: str) -> UnitDesk:
    desk = UnitDesk(hub, theme, review=False)
    desk.window.set_still(options.still)
    return desk


def _can_go_dark() -> bool:
    return QGuiApplication.platformName() != "offscreen"


def _application(table: ScreenTable | None, asked: int = 100) -> QCoreApplication:
    """Begin Qt at the scale that is asked for, which a form that is opened from here has too."""
    running = QApplication.instance()
    if running is not None:
        return running
    if table is not None and table.text_percent > 100:
        os.environ[SCALE] = f"{table.text_percent / 100:g}"
    application = QApplication(sys.argv[:1])
    pitch = USUAL_PITCH if table is None else table.pitch_mm
    text = (100, 100) if table is None else (table.text_percent, asked)
    stand_on(Screen(pitch * application.devicePixelRatio(), is_told=table is not None, text=text))
    return application


def _show(window: QWidget, options: DeskOptions) -> None:
    if options.size is not None or options.picture:
        ratio = window.devicePixelRatio() if options.screen is not None else 1.0
        window.resize(QSize(*(options.size or PICTURE_SIZE)) / ratio)
        window.show()
    else:
        # Where nothing manages windows, asking for the whole screen changes no size: it is set besides.
        window.setGeometry(QGuiApplication.primaryScreen().availableGeometry())
        window.showMaximized()


def _heeded(desks: Sequence[UnitDesk]) -> list[Heeded]:
    """Give the units that are heard. One alone needs no name in its captions."""
    if len(desks) == 1:
        return [Heeded(desks[0].session, desks[0].window.people)]
    stores = [desk.session.store for desk in desks]
    return [
        Heeded(desk.session, desk.window.people, partial(_name, stores, place)) for place, desk in enumerate(desks)
    ]


def _name(stores: Sequence[Store], place: int) -> str:
    from monitor.desk.units.words import names_of

    return names_of(stores)[place]


def _open_page(window: DeskWindow, page: str) -> None:
    """Open a bed's page, or one of no bed; what is not there opens nothing."""
    if page in window.session.store.tiles:
        window.go_to(page)
    elif page in PAGES:
        window.toggle_page(PAGES[page])
