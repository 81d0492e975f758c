"""Rehearse a recording: what the limits and the ladder would have done with it, nobody answering."""

from collections.abc import Iterator

from monitor.core.engine import Engine
from monitor.core.entries import Entry
from monitor.core.events import Declared, Observed
from monitor.core.ladder_table import LadderTable
from monitor.core.patterns import Patterns
from monitor.core.rules import Limits
from monitor.rehearsal.rehearse import BEGIN
from monitor.rehearsal.sources import FEED, Numbered
from monitor.rehearsal.stage import NO_PATTERNS, stage_for_recording
from monitor.rehearsal.turns import entries_of, until
from shared.errors import ConfigurationError
from shared.instant import Instant, ms
from shared.messages import BedDeclared, Origin
from shared.quantities import Quantity
from shared.recording import Recording
from shared.support import Support, describe_run


def rehearse_recording(
    recording: Recording,
    quantities: frozenset[Quantity],
    limits: Limits,
    ladder: LadderTable,
    bed: str = "B1",
    support: Support = Support.VA,
    begin: Instant = BEGIN,
    patterns: Patterns = NO_PATTERNS,
) -> Iterator[Entry]:
    """Give every entry of a recording that plays in one bed, from its first row to its last.

    Args:
        quantities: what the recording's columns hold.

    Raises:
        ConfigurationError: the support type does not fit what was recorded.
    """
    try:
        run = describe_run(support, f"{bed}-recorded", sensors=quantities)
    except ValueError as error:
        raise ConfigurationError(f"support {support.value} does not fit the recording: {error}") from None
    engine = Engine(stage_for_recording(bed, run, {}, limits, ladder, patterns), begin)
    yield from entries_of(engine.start(begin))
    declared = BedDeclared(bed=bed, runs=(run,), interval=recording.interval, origin=Origin.REPLAYED)
    yield from entries_of(engine.handle(Declared(FEED, (declared,)), begin))
    numbered = Numbered()
    for row in recording.rows:
        at = begin + ms(row.t)
        yield from until(engine, at)
        yield from entries_of(engine.handle(Observed(numbered.live(bed, 1, at, row.values)), at))
    yield from until(engine, begin + ms(recording.length))
