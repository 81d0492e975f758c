"""What an engine shows, held to the same views made anew from its state."""

from collections.abc import Iterable

from monitor.core.engine import Engine
from monitor.core.shown import Shown
from shared.instant import Instant


def hold_to_fresh(engine: Engine, now: Instant, beds: Iterable[str]) -> None:
    """Fail where a view of the unit or of one of these beds is not as it would be made anew."""
    handling, fresh = engine._handling(now), Shown()
    for bed in beds:
        assert engine.tile(bed, now) == fresh.tile(handling, handling.state.beds[bed])
    assert engine.unit(now) == fresh.unit(handling)
