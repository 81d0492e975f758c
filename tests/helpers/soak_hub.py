"""A hub as a process whose time is that of a shared clock: ``python -m tests.helpers.soak_hub FOLDER LOSE``.

Sockets, record, engine and turns are the real ones; only what the hub reads as the time is not the machine's. Where
LOSE is not empty it loses a descriptor with each new moment, as a hub with a leak would.
"""

import os
import sys
from pathlib import Path

from monitor.hub.clock import HubClock
from monitor.hub.opening import open_hub
from monitor.settings import load_configuration, texts_in
from shared.given_back import FreeMemory, give_back_big_blocks
from shared.instant import Instant
from shared.stopping import StopRequested
from tests.helpers.pace import FEED, Pace, Place

#: About how much faster than the wall it comes to run; what a desk says may be as late as that makes it.
SPEED = 100.0


class SharedClock(HubClock):
    """The hub's time is that of the shared clock; its timers run as ever."""

    def __init__(self, pace: Pace, floor: Instant) -> None:
        super().__init__(SPEED, floor=floor, wall=lambda: pace[Place.CLOCK])
        self._pace, self._floor = pace, floor

    def now(self) -> Instant:
        return max(self._floor, self._pace[Place.CLOCK])


def main(folder: Path, lose: str) -> None:
    """Run until SIGTERM."""
    pace, moment = Pace(folder / "pace"), 0
    configuration = load_configuration(folder)
    give_back_big_blocks()
    free = FreeMemory()
    with StopRequested() as stop:
        hub = open_hub(
            configuration,
            folder / "unit.record",
            lambda floor: SharedClock(pace, floor),
            configuration.unit.endpoints,
            texts_in(folder),
            folder,
        )
        try:
            sys.stdout.write("hub ready\n")
            sys.stdout.flush()
            while not stop.now:
                hub.turn(10)
                free.look(hub.clock.ticks())
                peer = hub.feeds._peers.get(FEED)
                if peer is not None and peer.links:
                    pace[Place.HEARD] = [*peer.links.values()][-1].contiguous
                if lose and pace[Place.CLOCK] != moment:
                    moment = pace[Place.CLOCK]
                    os.open(os.devnull, os.O_RDONLY)
            hub.end()
        finally:
            hub.keeper.record.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2])
