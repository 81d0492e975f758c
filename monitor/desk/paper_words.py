"""How old the paper is that counts when the board is dark, where it lies, and that it is too old: in words."""

from datetime import tzinfo

from monitor.core.view import SHEET_OVERDUE_MS, SheetView
from monitor.desk import words
from monitor.desk.link_state import LinkState
from monitor.desk.store import Store
from shared.instant import Instant
from shared.language.saying import say


def paper_age(store: Store, now: Instant | None) -> str:
    """Give ``Paper 23 min old`` for the foot of the screen; empty where the hub has no sheets made."""
    sheet = _sheet(store)
    if sheet is None or now is None:
        return ""
    return (
        say("No paper yet")
        if sheet.at is None
        else say("Paper {age_in_minutes}", age_in_minutes=words.age_in_minutes(now - sheet.at))
    )


def paper_strip(store: Store, now: Instant | None, zone: tzinfo | None) -> str:
    """Give what must be known of the paper: where it lies once the hub is lost, too old, or not to be made."""
    sheet = _sheet(store)
    if sheet is None or now is None:
        return ""
    lies = f"{sheet.host}: {sheet.folder}"
    if store.link.state is LinkState.NOT_LIVE:
        if sheet.at is None:
            return say("No downtime sheet was made")
        return say(
            "Paper of {hhmm} on {lies}/{newest}", hhmm=words.hhmm(sheet.at, zone), lies=lies, newest=sheet.newest
        )
    if sheet.fault:
        newest = (
            say("none is there")
            if sheet.at is None
            else say("the newest is {age_in_minutes}", age_in_minutes=words.age_in_minutes(now - sheet.at))
        )
        return say(
            "No downtime sheet: {fault} ({newest}). Alerts go on: print one by hand.",
            fault=sheet.fault,
            newest=newest,
        )
    if now - (sheet.at if sheet.at is not None else sheet.since) >= SHEET_OVERDUE_MS:
        return say(
            "Downtime sheet {age_in_minutes}: print one by hand",
            age_in_minutes=words.age_in_minutes(now - (sheet.at or sheet.since)),
        )
    return ""


def _sheet(store: Store) -> SheetView | None:
    return store.unit.sheet if store.unit is not None else None
