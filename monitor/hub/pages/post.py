"""The thread that talks to the mail server. The hub's thread only puts in and takes out, and never waits for it."""

import logging
import queue
import threading
from collections.abc import Callable
from contextlib import suppress
from functools import partial
from pathlib import Path

from monitor.core.pages.server import PageServer
from monitor.core.pages.states import PageEvent
from monitor.hub.pages.delivery import Job, Outcome, deliver
from shared.errors import ConfigurationError

log = logging.getLogger(__name__)

#: One is under way and one is next; the rest wait in the outbox, where the most urgent goes first.
_NEXT_AT_MOST = 1
_END_S = 1.0


class Post:
    """Hands pages over one after the other. The thread begins with the first page.

    Args:
        deliver: tries one page; may take its time.
    """

    def __init__(self, deliver: Callable[[Job], Outcome]) -> None:
        self._deliver = deliver
        self._jobs: queue.Queue[Job | None] = queue.Queue(_NEXT_AT_MOST)
        self._outcomes: queue.SimpleQueue[Outcome] = queue.SimpleQueue()
        self._thread: threading.Thread | None = None
        self._ended = threading.Event()

    def offer(self, job: Job) -> bool:
        """Put a page in; false where there is no room now."""
        try:
            self._jobs.put_nowait(job)
        except queue.Full:
            return False
        if self._thread is None:
            self._thread = threading.Thread(target=self._run, name="pages", daemon=True)
            self._thread.start()
        return True

    def outcomes(self) -> list[Outcome]:
        """Take what has come of pages since the last look."""
        found: list[Outcome] = []
        while True:
            try:
                found.append(self._outcomes.get_nowait())
            except queue.Empty:
                return found

    def stop(self) -> None:
        """End the thread after the page that is under way; a server that hangs is not waited for."""
        self._ended.set()
        if self._thread is None:
            return
        with suppress(queue.Full):  # where it is, the thread looks at the mark before it begins the next page
            self._jobs.put_nowait(None)
        self._thread.join(_END_S)

    def _run(self) -> None:
        while not self._ended.is_set():
            job = self._jobs.get()
            if job is None or self._ended.is_set():
                return
            try:
                self._outcomes.put(self._deliver(job))
            except Exception:  # a defect of ours costs this page, told as cut off, and not the thread of all
                log.exception("the hub failed on page %d", job.page)
                self._outcomes.put(Outcome(job.page, PageEvent.CUT, "the hub failed on it"))


def post_for(server: PageServer | None) -> Post | None:
    """Make the way out to the unit's mail server, if it has one. Raises ConfigurationError without its password."""
    if server is None:
        return None
    password = ""
    if server.password_file:
        try:
            password = Path(server.password_file).read_text(encoding="utf-8").strip()
        except (OSError, UnicodeDecodeError) as error:
            raise ConfigurationError(
                f"pages.password_file = {server.password_file} cannot be read: {error}"
            ) from error
    return Post(partial(deliver, server, password))
