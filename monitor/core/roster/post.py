"""A post: a place on the roster that somebody stands on. Rungs 2 to 5 are posts of the unit; rung 1 is one for each
bed, and one more for the deputy of all beds.
"""

from functools import lru_cache

from pydantic import model_validator

from monitor.core.grades import RUNG_LABEL, Rung
from monitor.core.model import Frozen
from shared.language.saying import say
from shared.messages import BedLabel


def key_of(rung: Rung, bed: str | None = None) -> str:
    """Give the key of a post: ``2``, ``1`` (the deputy), ``1:B3``."""
    return f"{int(rung)}" if bed is None else f"{int(rung)}:{bed}"


class Post(Frozen):
    """A post. Rung 1 names its bed; without one it is the deputy."""

    rung: Rung
    bed: BedLabel | None = None

    @model_validator(mode="after")
    def _bed_on_the_first_rung(self) -> "Post":
        if self.bed is not None and self.rung is not Rung.BEDSIDE:
            raise ValueError("only the first rung has a post for each bed")
        return self

    @property
    def key(self) -> str:
        """The post as text, for state and for comparing."""
        return key_of(self.rung, self.bed)

    @property
    def label(self) -> str:
        """The post in words."""
        if self.rung is not Rung.BEDSIDE:
            return say(RUNG_LABEL[self.rung])
        return say("Deputy") if self.bed is None else f"{say(RUNG_LABEL[self.rung])} {self.bed}"


DEPUTY = Post(rung=Rung.BEDSIDE)


@lru_cache(maxsize=1024)
def post_of(key: str) -> Post:
    """Give the post of a key. Raises ValueError for what is no key."""
    rung, _, bed = key.partition(":")
    return Post(rung=Rung(int(rung)), bed=bed or None)


def labels_of(keys: list[str] | tuple[str, ...]) -> str:
    """Give posts in words: ``Charge nurse, Bedside nurse B3``."""
    return ", ".join(post_of(key).label for key in keys)
