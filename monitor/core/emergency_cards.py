"""An emergency card: a read-do list that the unit writes, versions and approves itself. Nothing here writes one."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated

from pydantic import Field

from monitor.core.emergency_commands import CardTitle, CardVersion
from monitor.core.model import Frozen
from shared.language.saying import say, to_say
from shared.written.faults import Fault

#: A step is read out and done: one act, in so many characters that it stands on two lines at 1.5 m.
StepWords = Annotated[str, Field(min_length=1, max_length=120, pattern=r"\S")]


class EmergencyCard(Frozen):
    """A file of ``cards/``: the unit's own text. ``approved_by`` empty: nobody has yet, and every page says so."""

    number: int = Field(ge=1, le=9)
    title: CardTitle
    version: CardVersion
    written: date
    approved_by: str = Field(default="", max_length=80)
    steps: Annotated[tuple[StepWords, ...], Field(min_length=1, max_length=24)]

    @property
    def version_words(self) -> str:
        """Give ``version 3 of 2026-11-27``."""
        return say("version {version} of {isoformat}", version=self.version, isoformat=self.written.isoformat())

    @property
    def approved_words(self) -> str:
        """Say who approved it."""
        return (
            say("approved by {approved_by}", approved_by=self.approved_by)
            if self.approved_by
            else say("approved by: nobody yet")
        )


#: Stands on every card that nobody has approved.
NOT_APPROVED = to_say("NOT APPROVED: the unit must write its own text. This is a place for it, not guidance.")
#: Stands on every card.
OWN_TEXT = to_say("The unit's own text, not advice of this program. The bedside console is the alarm.")


@dataclass(frozen=True, slots=True)
class CardsFound:
    """The cards that can be read, by name, in the order of their numbers, and what is wrong with the others."""

    cards: Mapping[str, EmergencyCard]
    faults: tuple[Fault, ...] = ()
