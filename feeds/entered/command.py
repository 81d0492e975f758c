"""``feeds enter``: the form by which rounds are typed at a bed."""

import argparse
import sys
from pathlib import Path

from PySide6.QtCore import QSize, QTimer
from PySide6.QtGui import QGuiApplication
from PySide6.QtWidgets import QApplication

from feeds.entered.folder import FormFolder, PersonRow, load_folder
from feeds.entered.hub_line import HubLine
from feeds.entered.language import speak_of
from feeds.entered.post import Post
from feeds.entered.rounds import Rounds
from feeds.entered.screen import begin_on, screen_in
from feeds.entered.shelf import Shelf
from feeds.entered.told import Told
from feeds.entered.window import FormWindow
from feeds.journal import Journal
from feeds.options import (
    VirtualClock,
    add_clock_arguments,
    add_common_arguments,
    feed_name,
    journal_path,
    keys_of,
)
from feeds.publisher import Publisher
from shared.entry.known import Known
from shared.errors import ConfigurationError
from shared.keys import reached_at
from shared.stopping import StopRequested

CONFIG = Path(__file__).parents[2] / "config"
_LOOK_MS = 200
#: How long the hub's word of the runs is waited for before a form opens by the files alone.
_FIRST_WORD_MS = 1000


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Describe the command line."""
    parser.description = (
        "Type rounds at the beds of the unit that the configuration describes. "
        "Second look only: the bedside console is the alarm."
    )
    parser.add_argument("--config", type=Path, default=CONFIG, metavar="DIR", help="default: the shipped one")
    parser.add_argument("--bed", metavar="BED", help="label of the bed; without it a list of beds")
    parser.add_argument("--by", metavar="NAME", help="roster name of whoever types")
    parser.add_argument("--theme", choices=("day", "night"), default="day", help="light or dark (F9 changes it)")
    parser.add_argument("--shelf", type=Path, metavar="DIR", help="drafts, sent sets; default: beside the journal")
    parser.add_argument("--listen", action="store_true", help="open the beds named on standard input: BED [NAME]")
    parser.add_argument("--picture", metavar="FILE", help="save a picture of the form as PNG, then leave")
    parser.add_argument("--size", type=size_of, metavar="WxH", help="of the window; without it the whole screen")
    add_common_arguments(parser, "entered")
    parser.add_argument("--commands", metavar="ADDRESS", help="where the hub answers; default: as configured")
    parser.set_defaults(ingest=None, link=None)
    add_clock_arguments(parser)


def run(args: argparse.Namespace) -> int:
    """Show the form until it is closed, SIGINT or SIGTERM; give the exit status.

    Raises:
        ConfigurationError: an option, the folder or the journal is wrong, or another form of this name is open.
    """
    speak_of(args.config)
    folder = load_folder(args.config)
    bed, person = _bed_of(args.bed, folder), _person_of(args.by, folder)
    clock = VirtualClock(args.start, args.speed)
    keys = keys_of(args)
    if keys is None and (args.config / "keys.toml").exists():
        raise ConfigurationError("the unit has keys: give this form's own (--key, --hub-key, --feed its name)")
    journal = Journal(journal_path(args), feed_name(args))
    try:
        with (
            StopRequested() as stop,
            HubLine(args.commands or reached_at(folder.addresses.commands), keys) as line,
            Publisher(
                journal,
                folder.declarations(),
                ingest=args.ingest or reached_at(folder.addresses.ingest),
                link=args.link or reached_at(folder.addresses.link),
                clock=clock.now,
                keys=keys,
            ) as publisher,
        ):
            shelf = Shelf(args.shelf or journal_path(args).with_suffix(".shelf"))
            rounds = Rounds(folder, shelf, Post(publisher), clock.now)
            begin_on(screen_in(args.config), sys.argv[:1], args.size)
            form = FormApplication(rounds, publisher, line, args.theme, args.size)
            line.wait(_FIRST_WORD_MS)
            form.window.look()
            seat = None if bed is None else rounds.folder.seat_at(bed)
            if args.picture:
                return _take_picture(form, seat, person, args.picture)
            _show(form, seat, person, stop, args.listen)
    finally:
        journal.close()
    return 0


class FormApplication:
    """The window and Qt's loop."""

    def __init__(
        self, rounds: Rounds, publisher: Publisher, line: HubLine, theme: str, size: tuple[int, int] | None
    ) -> None:
        self.application = QApplication.instance() or QApplication(sys.argv[:1])
        self.window = FormWindow(rounds, lambda: publisher.turn(0), theme, line)
        if size is None:
            self.window.setGeometry(QGuiApplication.primaryScreen().availableGeometry())
            self.window.showMaximized()
        else:
            self.window.resize(QSize(*size) / self.window.devicePixelRatio())
            self.window.show()


def _show(
    form: FormApplication, seat: Known | None, person: PersonRow | None, stop: StopRequested, listen: bool
) -> None:
    window = form.window
    told = Told(window, lambda: _to_front(window)) if listen else None
    window.begin(seat, person)
    window.start()
    timer = QTimer()
    timer.timeout.connect(lambda: window.close() if stop.now else None)
    timer.start(_LOOK_MS)
    try:
        form.application.exec()
    finally:
        timer.stop()
        if told is not None:
            told.stop()


def _take_picture(form: FormApplication, seat: Known | None, person: PersonRow | None, file: str) -> int:
    form.window.begin(seat, person)
    form.application.processEvents()
    if not form.window.grab().save(file, "PNG"):
        raise ConfigurationError(f"--picture {file}: could not be written")
    form.window.close()
    return 0


def size_of(text: str) -> tuple[int, int]:
    """Read a size such as 1366x768. Raises argparse.ArgumentTypeError."""
    wide, _, high = text.lower().partition("x")
    if not (wide.isdigit() and high.isdigit()):
        raise argparse.ArgumentTypeError(f"{text!r} is no size: write it as 1366x768")
    return max(1024, int(wide)), max(700, int(high))


def _to_front(window: FormWindow) -> None:
    window.raise_()
    window.activateWindow()


def _bed_of(label: str | None, folder: FormFolder) -> str | None:
    if label is None or label.casefold() in (bed.casefold() for bed in folder.beds):
        return label
    raise ConfigurationError(f"--bed {label}: there is no such bed in this unit; allowed: {', '.join(folder.beds)}")


def _person_of(name: str | None, folder: FormFolder) -> PersonRow | None:
    if name is None:
        return None
    person = folder.person(name)
    if person is None:
        names = ", ".join(one.name for one in folder.people)
        raise ConfigurationError(f"--by {name}: {folder.why_not(name)}; allowed: {names}")
    return person
