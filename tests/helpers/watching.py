"""A desk without a window, as a process: for each reading of B1 a line ``read_at heard_at`` in ms since 1970.

``python -m tests.helpers.watching PUBLISH COMMANDS KEY HUB_KEY``, until it is killed.
"""

import sys
import threading
import time
from pathlib import Path

from monitor.core.wire import ReadingsDelta
from monitor.desk.client import Client
from monitor.desk.hearing import Heard
from monitor.settings.key_files import load_keys


def tell(heard: Heard) -> None:
    """Print a live reading of B1."""
    if isinstance(heard.message, ReadingsDelta) and heard.message.bed == "B1" and not heard.message.late:
        sys.stdout.write(f"{heard.message.read_at} {time.time_ns() // 1_000_000}\n")
        sys.stdout.flush()


if __name__ == "__main__":
    publish, commands, own, hub = sys.argv[1:]
    client = Client(publish, commands, tell, keys=load_keys(Path(own), Path(hub)))
    client.start()
    threading.Event().wait()
