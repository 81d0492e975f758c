"""Alerts that nothing read can end: help called by hand, a record begun anew, and what the limits have no rule for.

Theory. Limits are changed between two starts of the hub, and a rule may be taken out while its alert stands. A
start ends no alert: it stays listed and its calls go on. But nothing judges it any more, so people end it as they
end help that was called by hand: somebody in the unit sees it once somebody has it. Nobody has to have a low. What
silence, gas or a post had raised ends as ever, by what it waits for.
"""

from monitor.core.alerts.episodes import end_alert
from monitor.core.handling import Handling
from monitor.core.rules import HelpRule
from monitor.core.state import AlertState, BedState, UnitState


def nothing_ends(handling: Handling, place: BedState | UnitState, alert: AlertState) -> bool:
    """Tell whether an alert is present that neither a reading nor time can end."""
    return alert.present and _waits_for_nothing(handling, place, alert)


def end_by_hand(handling: Handling, place: BedState | UnitState, alert: AlertState) -> None:
    """End such an alert. A rule that comes back to the unit's limits is judged from the beginning."""
    end_alert(handling, alert)
    runs = place.runs.values() if isinstance(place, BedState) else ()
    for run in runs:
        for key in [key for key, state in run.rules.items() if state.alert == alert.id]:
            del run.rules[key]


def _waits_for_nothing(handling: Handling, bed: BedState | UnitState, alert: AlertState) -> bool:
    rule = handling.rules.get(alert.rule)
    if rule is not None or isinstance(bed, UnitState):
        return isinstance(rule, HelpRule)
    gas = bed.transport.gas_alerts.values() if bed.transport is not None else ()
    return alert.id not in {*gas, *(one for run in bed.runs.values() for one in run.timed.values())}
