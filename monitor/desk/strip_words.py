"""What the strip below the header says of the hub: that nothing is recorded, that no name is checked."""

from datetime import tzinfo

from monitor.desk import words
from monitor.desk.store import Store
from shared.language.saying import say


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
    return say("{text} Alerts and calls go on. Write on paper what you answer.", text=text)
