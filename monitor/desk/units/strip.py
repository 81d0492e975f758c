"""What the strip over several units says of one of them: what its own window has on its strip, by name."""

from monitor.desk.cover_words import nobody_words
from monitor.desk.pagespage.face import lost_words
from monitor.desk.strip_words import not_checked, not_recorded
from monitor.desk.window import DeskWindow


def strip_of(name: str, window: DeskWindow) -> str:
    """Say by name what is wrong in a unit besides its needs; empty where nothing is."""
    store, moment = window.session.store, window.moment()
    zone = moment.zone if moment is not None else None
    parts = (nobody_words(store, zone), lost_words(store), not_recorded(store, zone), not_checked(store))
    found = "   ".join(filter(None, parts))
    return f"{name}: {found}" if found else ""
