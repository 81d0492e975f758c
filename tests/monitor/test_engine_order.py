"""The order in which the engine does what is due at the same moment: the unit first, then the beds as they stand.

Names of beds are hashed anew by every process; an order by hashes would make a restarted hub tell another story.
"""

from pathlib import Path

from monitor.core.commands import CallHelp, HelpKind
from monitor.core.effects import Persist
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.events import Commanded, TimePassed
from monitor.core.grades import Rung
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.stage import stage_of
from monitor.settings import load_limits_and_ladder
from shared.instant import MINUTE
from shared.scenario import parse_scenario

CONFIG = Path(__file__).parents[2] / "config"
BEDS = [f"B{number}" for number in range(1, 9)]


def test_that_beds_due_at_the_same_moment_are_served_as_they_stand_in_the_unit() -> None:
    scenario = parse_scenario(f'title = "Order"\nminutes = 9\nbeds = {BEDS!r}'.replace("'", '"'))
    engine = Engine(stage_of(scenario, *load_limits_and_ladder(CONFIG)), BEGIN)
    engine.start(BEGIN)
    for bed in reversed(BEDS):
        command = CallHelp(id=f"help-{bed}", person="charge", bed=bed, what=HelpKind.AIR)
        engine.handle(Commanded(command), BEGIN)
    surgeon: list[str | None] = []
    while (due := engine.next_deadline()) is not None and due <= BEGIN + 2 * MINUTE:
        entries = [e.entry for e in engine.handle(TimePassed(), due) if isinstance(e, Persist)]
        surgeon += [e.bed for e in entries if e.kind is EntryKind.CALLED and e.rung == Rung.SURGEON]
    assert surgeon == BEDS
