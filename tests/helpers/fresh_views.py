"""What an engine shows and when something is due there, held to the same made anew from its state."""

from collections.abc import Iterable

from monitor.core.engine import Engine
from monitor.core.shown import Shown
from shared.instant import Instant


def hold_to_fresh(engine: Engine, now: Instant, beds: Iterable[str]) -> None:
    """Fail where a view of the unit or of one of these beds, or what is due, is not as it would be made anew."""
    handling, fresh = engine._handling(now), Shown()
    for bed in beds:
        assert engine.tile(bed, now) == fresh.tile(handling, handling.state.beds[bed])
    assert engine.unit(now) == fresh.unit(handling)
    due = dict(engine._due)
    engine._settle(None, *handling.state.beds)
    assert due == engine._due
