"""From a call to what its page tells: the leading alert, who has it now, and how old its reading is."""

from monitor.core.effects import Page
from monitor.core.grades import RANK, Rung
from monitor.core.handling import Handling, present_members
from monitor.core.pages.text import PageFacts, Why
from monitor.core.state import AlertState, BedState, EpisodeState, UnitState
from shared.instant import Instant, ms


def page_of(handling: Handling, episode: EpisodeState, rung: Rung, person: str, why: Why) -> Page:
    """Give the page of a call. Something of the episode persists: a ladder ends with its last condition."""
    place = handling.place(episode.bed)
    present = present_members(place, episode)
    lead = min(present, key=_lead_order)
    holder = episode.holder
    facts = PageFacts(
        bed=episode.bed,
        priority=lead.priority,
        circuit_critical=lead.circuit_critical,
        title=lead.title,
        value=lead.value,
        limit=lead.limit,
        quantity=lead.quantity,
        since=min(alert.raised_at for alert in present),
        at=handling.now,
        holder=_label(handling, holder.person) if holder is not None else None,
        rung=rung,
        why=why,
        phone=handling.unit.phone,
        origin=place.origin if isinstance(place, BedState) else None,
        last_reading_at=_aged_reading(handling, place, lead),
    )
    return Page(facts, episode.id, person)


def _lead_order(alert: AlertState) -> tuple[int, bool, Instant, int]:
    return RANK[alert.priority], not alert.circuit_critical, alert.raised_at, alert.id


def _label(handling: Handling, person: str) -> str:
    known = handling.people.get(person)
    return known.label if known is not None else person


def _aged_reading(handling: Handling, place: BedState | UnitState, alert: AlertState) -> Instant | None:
    """Give when the alert's reading was last taken, from the age on at which a tile shows it too."""
    run = place.runs.get(alert.slot) if isinstance(place, BedState) and alert.slot is not None else None
    if run is None or not isinstance(place, BedState):
        return None
    signal = run.signals.get(alert.quantity) if alert.quantity is not None else None
    last = signal.last_at if signal else run.last_reading_at
    timings = handling.ladder.timings
    age_from = max(ms(timings.age_shown_s), round(timings.age_shown_intervals * place.interval_ms))
    return last if last and handling.now - last >= age_from else None
