"""How old the paper is that counts when the board is dark, where it lies, and that it is too old: in words."""

from datetime import tzinfo

from monitor.core.view import SHEET_OVERDUE_MS, SheetView
from monitor.desk import words
from monitor.desk.link_state import LinkState
from monitor.desk.store import Store
from shared.instant import Instant


def paper_age(store: Store, now: Instant | None) -> str:
    """Give ``Paper 23 min old`` for the foot of the screen; empty where the hub has no sheets made."""
    sheet = _sheet(store)
    if sheet is None or now is None:
        return ""
    return "No paper yet" if sheet.at is None else f"Paper {words.age_in_minutes(now - sheet.at)}"


def paper_strip(store: Store, now: Instant | None, zone: tzinfo | None) -> str:
    """Give what must be known of the paper: where it lies once the hub is lost, too old, or not to be made."""
    sheet = _sheet(store)
    if sheet is None or now is None:
        return ""
    lies = f"{sheet.host}: {sheet.folder}"
    if store.link.state is LinkState.NOT_LIVE:
        if sheet.at is None:
            return "No downtime sheet was made"
        return f"Paper of {words.hhmm(sheet.at, zone)} on {lies}/{sheet.newest}"
    if sheet.fault:
        newest = "none is there" if sheet.at is None else f"the newest is {words.age_in_minutes(now - sheet.at)}"
        return f"No downtime sheet: {sheet.fault} ({newest}). Alerts go on."
    if now - (sheet.at if sheet.at is not None else sheet.since) >= SHEET_OVERDUE_MS:
        return f"Downtime sheet {words.age_in_minutes(now - (sheet.at or sheet.since))}: print one by hand"
    return ""


def _sheet(store: Store) -> SheetView | None:
    return store.unit.sheet if store.unit is not None else None
