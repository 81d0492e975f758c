"""What the beds of a scenario showed before it began, so that a demonstration's trends are not empty.

Simulated like all the rest: each bed as it starts, without its faults and ramps, one reading every twenty seconds;
a bed entered by hand, one set every hour.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace

from feeds.simulated.player import Player
from shared.feed_talk import Draft
from shared.instant import HOUR, MINUTE, SECOND, Instant
from shared.scenario import Scenario, feed_of, slots_of
from shared.staging import StagedPump

EVERY_S = 20
_SET_HOURS = 11


def lead_of(scenario: Scenario, start: Instant, minutes: float, only: Sequence[str] = ()) -> Iterator[list[Draft]]:
    """Give the sets, then the beds' readings of ``minutes`` before ``start``, one moment at a time, newest first.

    They are older than what the hub already has when they arrive: for the trends, and nothing is judged by them.
    """
    quiet = scenario.model_copy(update={"fault": (), "ramp": (), "entry": (), "link": (), "act": ()})
    moments = int(minutes * 60 // EVERY_S)
    player = Player(quiet, start, only)
    if moments:
        yield list(_sets(quiet, start, player.beds))
    for moment in range(moments):
        read_at = start - (moment + 1) * EVERY_S * SECOND
        yield [replace(draft, read_at=read_at) for draft in player.second(moment)]


def _sets(quiet: Scenario, start: Instant, beds: Sequence[str]) -> Iterator[Draft]:
    for bed in beds:
        if feed_of(quiet, bed) != "entered":
            continue
        for slot in slots_of(quiet, bed):
            pump = StagedPump(quiet, bed, slot)
            for hours in range(_SET_HOURS, 0, -1):
                read_at = start - hours * HOUR
                values = dict(pump.observe(float(_SET_HOURS - hours)).values)
                by = f"nurse-{bed}"
                yield Draft(
                    bed=bed,
                    read_at=read_at,
                    readings=values,
                    slot=slot,
                    entered_at=read_at + 2 * MINUTE,
                    by=by,
                )
