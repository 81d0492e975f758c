"""``monitor desk``: the board at the unit's station, or a review elsewhere. It holds no truth of its own."""

import argparse
import sys
import time

from PySide6.QtCore import QTimer
from PySide6.QtWidgets import QApplication

from monitor.core.unit import Endpoints
from monitor.desk.bridge import Bridge
from monitor.desk.client import Client
from monitor.desk.session import Session
from monitor.desk.store import Store
from monitor.desk.window import DeskWindow


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Add what the command takes."""
    stand = Endpoints()
    parser.add_argument("--publish", default=stand.publish, help="where the hub publishes (tcp://...)")
    parser.add_argument("--commands", default=stand.commands, help="where the hub takes commands (tcp://...)")
    parser.add_argument("--theme", choices=("day", "night"), default="day", help="light or dark (key D changes it)")
    parser.add_argument("--size", default="", metavar="WxH", help="size of the window; without it the whole screen")
    parser.add_argument("--still", action="store_true", help="reduced motion: nothing flashes")
    parser.add_argument("--picture", metavar="FILE", help="save a picture of the window as PNG, then leave")
    parser.add_argument("--after", type=float, default=5.0, metavar="SECONDS", help="with --picture: wait so long")


def run(arguments: argparse.Namespace) -> int:
    """Open the desk and stay until it is closed; 0 when all went well, 2 when the size cannot be read."""
    size = _size(arguments.size)
    if arguments.size and size is None:
        print(f"desk: cannot read the size {arguments.size!r}. Write it as 1920x1080.", file=sys.stderr)
        return 2
    application = QApplication.instance() or QApplication(sys.argv[:1])
    bridge = Bridge()
    client = Client(arguments.publish, arguments.commands, bridge.deliver)
    session = Session(Store(time.monotonic()), client.send)
    window = DeskWindow(session, bridge, time.monotonic, arguments.theme)
    window.set_still(arguments.still)
    if size is not None or arguments.picture:
        window.resize(*(size or (1920, 1080)))
        window.show()
    else:
        window.showMaximized()
    client.start()
    window.start()
    saved = [True]
    if arguments.picture:
        QTimer.singleShot(round(arguments.after * 1000), lambda: _leave(window, arguments.picture, saved))
    try:
        application.exec()
    finally:
        client.stop()
    if not saved[0]:
        print(f"desk: the picture {arguments.picture} could not be written.", file=sys.stderr)
    return 0 if saved[0] else 1


def _leave(window: DeskWindow, file: str, saved: list[bool]) -> None:
    saved[0] = window.grab().save(file, "PNG")
    window.close()
    QApplication.quit()


def _size(text: str) -> tuple[int, int] | None:
    wide, _, high = text.lower().partition("x")
    if not (wide.isdigit() and high.isdigit()):
        return None
    return max(800, int(wide)), max(500, int(high))
