"""A feed as a process that sets the shared clock on.

``python -m tests.helpers.soak_feed FOLDER INGEST LINK EVERY_S``

Publisher, journal and simulated beds are the real ones. Each bed is read every so many seconds, and the next ones
begin when the hub has heard all of this and no desk is far behind.
"""

import sys
import time
from pathlib import Path

from feeds.journal import Journal
from feeds.publisher import Publisher
from feeds.simulated.command import load_scenario
from feeds.simulated.player import Player
from shared.instant import SECOND
from shared.stopping import StopRequested
from tests.helpers.pace import BEHIND_MS, FEED, Pace, Place

#: The hub takes so many observations a second from one feed, for long.
_A_SECOND = 1_000


def main(folder: Path, ingest: str, link: str, every_s: int) -> None:
    """Play until SIGTERM; the clock stands still when the scenario is over."""
    pace = Pace(folder / "pace")
    begin = pace[Place.CLOCK]
    scenario = load_scenario(folder / "scenario.toml")
    player = Player(scenario, begin)
    beds = [said.model_copy(update={"interval": float(every_s)}) for said in player.declarations()]
    journal = Journal(folder / "feed.journal", FEED)
    with (
        StopRequested() as stop,
        Publisher(journal, beds, ingest=ingest, link=link, clock=lambda: pace[Place.CLOCK]) as publisher,
    ):
        for t in range(0, int(scenario.seconds), every_s):
            pace[Place.CLOCK] = now = begin + t * SECOND
            drafts = player.second(t)
            publisher.publish(drafts)
            earliest = time.monotonic() + len(drafts) / _A_SECOND
            while not stop.now:
                publisher.turn(2)
                all_along = min(pace[Place.DESK], pace[Place.REVIEW]) >= now - BEHIND_MS
                if pace[Place.HEARD] >= journal.next_seq - 1 and all_along and time.monotonic() >= earliest:
                    break
            if stop.now:
                break
        while not stop.now:
            publisher.turn(20)
    journal.close()


if __name__ == "__main__":
    main(Path(sys.argv[1]), sys.argv[2], sys.argv[3], int(sys.argv[4]))
