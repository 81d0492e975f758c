"""What the strip below the header says: what is wrong besides needs, of hub, pages, paper and sound."""

from datetime import tzinfo

from monitor.desk import words
from monitor.desk.cover_words import nobody_words
from monitor.desk.pagespage.face import lost_words
from monitor.desk.paper_words import paper_strip
from monitor.desk.sound.face import SoundFace
from monitor.desk.store import Store
from shared.instant import Instant
from shared.language.saying import say


def strip_words(store: Store, now: Instant | None, zone: tzinfo | None, sound: SoundFace, beyond: str) -> str:
    """Give all of it in one line, last what was done ``beyond`` a role; empty: nothing is wrong."""
    text = not_recorded(store, zone)
    if sound.strip:
        text = f"{text}   {sound.words.upper()}" if text else sound.strip
    pages, paper = lost_words(store), paper_strip(store, now, zone)
    parts = (nobody_words(store, zone), pages, text, not_checked(store), paper, beyond)
    return "   ".join(filter(None, parts))


def not_checked(store: Store) -> str:
    """Say why names count without their secrets; empty: they do not, or none is asked for."""
    sign_in = store.unit.sign_in if store.unit is not None else None
    return (
        say("NAMES ARE NOT CHECKED: {fault}", fault=sign_in.fault) if sign_in is not None and sign_in.fault else ""
    )


def not_recorded(store: Store, zone: tzinfo | None) -> str:
    """Say since when the record refuses writes; empty: it does not."""
    since = store.unit.not_recorded if store.unit is not None else None
    if since is None:
        return ""
    text = say("NOT RECORDED since {clock}: the record refuses writes.", clock=words.clock(since, zone))
    return say(
        "{text} Alerts and calls go on. Write on paper what you answer. Have the hub's disk looked at: is it full?",
        text=text,
    )
