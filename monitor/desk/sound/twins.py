"""Every sound of a desk with its visual twin: the words that say the same, and where on the screen they stand.

Nothing is told by sound alone. The caption stands at the foot of the screen while a sound is new, also where the
sound itself cannot be heard; the lasting twin stands where its need stands.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType

from monitor.core.entries import EntryKind
from shared.language.saying import say, to_say


class Sound(StrEnum):
    """Why a desk sounds."""

    NEW = "new"
    RISEN = "risen"
    JOINED = "joined"
    WORSENED = "worsened"
    HOLD_ENDED = "hold ended"
    NOBODY_THERE = "nobody there"
    REPEAT = "repeat"
    HUB_LOST = "hub lost"
    REMINDER = "reminder"
    CHECK = "check"


class Place(StrEnum):
    """Where the lasting twin of a sound stands."""

    NEED_ROW = "need row"
    LAST_LINE = "last line"
    EVENTS = "events"
    HEADER_PLATE = "header plate"
    PAUSE_PLATE = "pause plate"
    STRIP = "strip"


@dataclass(frozen=True, slots=True)
class Twin:
    """``caption``: the words at the foot, with ``{where}`` and ``{what}``. ``stands``: the lasting twin's place."""

    caption: str
    stands: Place


TWINS: Mapping[Sound, Twin] = MappingProxyType(
    {
        Sound.NEW: Twin(to_say("New at {where}: {what}"), Place.NEED_ROW),
        Sound.RISEN: Twin(to_say("{where} has risen: {what}"), Place.NEED_ROW),
        Sound.JOINED: Twin(to_say("{where}, joined by: {what}"), Place.EVENTS),
        Sound.WORSENED: Twin(to_say("{where} is worse, calls go on: {what}"), Place.LAST_LINE),
        Sound.HOLD_ENDED: Twin(to_say("{where}, nobody has it any more: {what}"), Place.LAST_LINE),
        Sound.NOBODY_THERE: Twin(to_say("{where}, nobody is there to call: {what}"), Place.LAST_LINE),
        Sound.REPEAT: Twin(to_say("Nobody has it yet: {where}"), Place.LAST_LINE),
        Sound.HUB_LOST: Twin(to_say("Not live: this desk has lost the hub"), Place.HEADER_PLATE),
        Sound.REMINDER: Twin(to_say("Sound paused at {where}"), Place.PAUSE_PLATE),
        Sound.CHECK: Twin(to_say("Do you hear this? Y: yes. N: no"), Place.STRIP),
    }
)

#: Entries at which a desk sounds at once. The rest sound only where the entry itself says so.
SOUND_OF: Mapping[EntryKind, Sound] = MappingProxyType(
    {
        EntryKind.RAISED: Sound.NEW,
        EntryKind.BOARD_BLIND: Sound.NEW,
        EntryKind.PROMOTED: Sound.RISEN,
        EntryKind.FOLDED: Sound.JOINED,
        EntryKind.WORSENED: Sound.WORSENED,
        EntryKind.HOLD_ENDED: Sound.HOLD_ENDED,
        EntryKind.NOBODY_THERE: Sound.NOBODY_THERE,
    }
)
#: These sound although the entry does not say so: somebody had it, and nobody has it now.
ALWAYS = frozenset({EntryKind.WORSENED, EntryKind.HOLD_ENDED})


def caption(sound: Sound, where: str = "", what: str = "") -> str:
    """Give the words that say the same as a sound."""
    return say(TWINS[sound].caption, where=where, what=what)
