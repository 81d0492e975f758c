"""A card as it stands at a bed, in words: its steps, by whom they are ticked, and the off-support clock."""

from collections.abc import Mapping
from dataclasses import dataclass

from monitor.core.emergency_cards import NOT_APPROVED, OWN_TEXT, EmergencyCard
from monitor.core.view import TickView, TileView
from monitor.desk import words
from monitor.desk.off_support import off_words
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.language.saying import say


@dataclass(frozen=True, slots=True)
class StepFace:
    """A step: its number, its words, and ``14:02 Nurse 7`` where it is ticked."""

    number: int
    text: str
    ticked: str = ""


@dataclass(frozen=True, slots=True)
class CardFace:
    """A card; equal faces paint alike. ``bed`` empty: none is chosen, and nothing can be ticked."""

    title: str
    version: str
    caution: str
    approved: bool
    bed: str
    off: str
    steps: tuple[StepFace, ...]
    current: int


def card_face(
    card: EmergencyCard, name: str, tile: TileView | None, store: Store, moment: Moment, current: int
) -> CardFace:
    """Give a card as it stands; ``current``: the step that is next, from 0."""
    ticks = ticks_of(tile, name, card, moment)
    steps = tuple(
        StepFace(number, text, _tick(ticks.get(number), store, moment))
        for number, text in enumerate(card.steps, start=1)
    )
    return CardFace(
        title=card.title,
        version=f"{card.version_words} · {card.approved_words}",
        caution=say(OWN_TEXT if card.approved_by else NOT_APPROVED),
        approved=bool(card.approved_by),
        bed=tile.bed if tile is not None else "",
        off=off_words(tile, moment) if tile is not None else "",
        steps=steps,
        current=current,
    )


def ticks_of(tile: TileView | None, name: str, card: EmergencyCard, moment: Moment) -> Mapping[int, TickView]:
    """Give the ticks of this card and version at a bed; those of long ago are of another emergency."""
    used = (one for one in tile.emergency_cards if one.card == name) if tile is not None else ()
    return {
        tick.step: tick
        for one in used
        if one.version == card.version and moment.now < one.until
        for tick in one.ticks
    }


def _tick(tick: TickView | None, store: Store, moment: Moment) -> str:
    return f"{words.hhmm(tick.at, moment.zone)} {store.label(tick.by)}" if tick is not None else ""
