"""From an episode to what a screen shows of it: its need, its order, and whether somebody has it."""

from monitor.core.grades import RANK, AlertClass, Priority
from monitor.core.own_rule_ids import LATE_READING_ID
from monitor.core.view import EpisodeView, TileView
from shared.look.need import Need


def need_of(episode: EpisodeView) -> Need:
    """Give the look of an episode: technical ones share one look, their grade shows in the area."""
    if episode.circuit_critical:
        return Need.HIGH_CIRCUIT
    if episode.alert_class is AlertClass.TECHNICAL:
        return Need.TECHNICAL
    return {Priority.HIGH: Need.HIGH, Priority.MEDIUM: Need.MEDIUM, Priority.LOW: Need.LOW}[episode.priority]


def order_of_need(episode: EpisodeView) -> tuple[int, int, int, int, int, int]:
    """Give the sorting key: open first, then grade, kind, nobody's before somebody's, the oldest first."""
    return (
        int(episode.over),
        0 if episode.circuit_critical else 1,
        RANK[episode.priority],
        int(episode.alert_class is AlertClass.TECHNICAL),
        int(episode.holder is not None),
        episode.since,
    )


def leading(tile: TileView) -> EpisodeView | None:
    """Give the episode that leads the tile: the worst open one, else the worst that is listed until seen."""
    return min(tile.episodes, key=order_of_need, default=None)


def is_open(episode: EpisodeView) -> bool:
    """Tell whether a condition of the episode still stands."""
    return not episode.over


def is_of_the_past(episode: EpisodeView) -> bool:
    """Tell whether an episode is the notice of a set entered late: nothing of it has ended since."""
    return all(one.rule == LATE_READING_ID for one in episode.alerts) and bool(episode.alerts)


def wants_somebody(episode: EpisodeView) -> bool:
    """Tell whether somebody is to come and nobody has said that they will. A low calls nobody."""
    return is_open(episode) and episode.holder is None and episode.priority is not Priority.LOW


def owes_reason(tile: TileView) -> bool:
    """Tell whether the leading need was taken and nobody has written down why."""
    lead = leading(tile)
    return lead is not None and is_open(lead) and lead.holder is not None and lead.holder.reason is None
