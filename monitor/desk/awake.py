"""Keeping the screen on: a board that went dark by itself would look like a quiet unit.

The desktop is asked not to go idle, by the call that they answer for players and presentations
(freedesktop.org, *Idle Inhibition Service*: ``org.freedesktop.ScreenSaver.Inhibit``; it holds until whoever asked
is gone). Where nothing answers, the foot of the screen says so, and somebody sets the screen up by hand.
"""

from collections.abc import Callable

from PySide6.QtDBus import QDBusConnection, QDBusMessage, QDBusPendingCallWatcher

from shared.language.saying import say, to_say

SERVICE, PATH, INTERFACE = (
    "org.freedesktop.ScreenSaver",
    "/org/freedesktop/ScreenSaver",
    "org.freedesktop.ScreenSaver",
)
#: What the foot of the screen says where nothing keeps it on.
MAY_GO_DARK = to_say("Screen may go dark")
_WHO, _WHY = "Weirkeeper", "the board of a unit is shown"
_PATIENCE_MS = 3000


class Awake:
    """Asks once. ``tell`` gets what is to be said on the screen: nothing where it is kept on."""

    def __init__(self, bus: QDBusConnection, tell: Callable[[str], None]) -> None:
        self._tell = tell
        self._watcher: QDBusPendingCallWatcher | None = None
        if not bus.isConnected():
            tell(say(MAY_GO_DARK))
            return
        call = QDBusMessage.createMethodCall(SERVICE, PATH, INTERFACE, "Inhibit")
        call.setArguments([_WHO, _WHY])
        self._watcher = QDBusPendingCallWatcher(bus.asyncCall(call, _PATIENCE_MS))
        self._watcher.finished.connect(self._answered)

    def _answered(self, answer: QDBusPendingCallWatcher) -> None:
        self._tell(say(MAY_GO_DARK) if answer.isError() else "")
