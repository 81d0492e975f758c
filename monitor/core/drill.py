"""That a unit is a drill: people practise at its beds, which are invented. The mark is part of the unit itself.

So it stands in the configuration of the hub, in what the hub tells every desk, and in the record: whatever is shown
or printed of it, by whatever way, can say so.
"""

from typing import Annotated

from pydantic import Field

from monitor.core.model import Frozen

TEST = "TEST"


class Drill(Frozen):
    """A drill.

    Attributes:
        title: what is practised.
        begun_by: who began it, as they are written on screens; empty: at a desk that watches nobody.
        beside: the unit whose live beds are watched at the same desk; empty: none are.
    """

    title: str = Field(min_length=1, max_length=120)
    begun_by: tuple[Annotated[str, Field(min_length=1, max_length=24)], ...] = Field(default=(), max_length=2)
    beside: str = Field(default="", max_length=40)
