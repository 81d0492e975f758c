"""A set entered long after it was read: it is no news of now, so no rule speaks from it and nobody is called for
the past. If it was beyond a limit, that is told once, in one notice.

The notice is over as it is raised: the bedside nurse is called once, nobody after, and it stays listed until seen.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from monitor.core.alerts.episodes import Onset, end_alert, raise_alert
from monitor.core.grades import RANK
from monitor.core.handling import Handling
from monitor.core.judging.limits import LimitAt, judge_limit
from monitor.core.judging.observing import planned_at, sure_of
from monitor.core.judging.plan import Planned
from monitor.core.judging.verdict import Readings
from monitor.core.laboratory import DRAWN
from monitor.core.ladder_table import Timings
from monitor.core.own_rules import LATE_READING
from monitor.core.roster.wall import clock_of
from monitor.core.rules import LimitRule
from monitor.core.state import BedState, KeptSet, RuleState, RunState
from monitor.core.titles import number
from shared.derived import with_derived
from shared.instant import Instant, ms
from shared.language.saying import say
from shared.messages import Observation
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import label_at


@dataclass(slots=True)
class _OneSet(Readings):
    """The readings of one set alone: what stood before or after it is not looked at."""

    values: Mapping[Q, float]

    def raw(self, quantity: Q) -> float | None:
        """The reading of this set, or ``None``."""
        return self.values.get(quantity)


def is_past(observation: Observation, now: Instant, timings: Timings) -> bool:
    """Tell whether a set entered by hand was read too long ago to count as what is now."""
    return observation.by is not None and now - observation.read_at > ms(timings.entered_set_s)


def tell(
    handling: Handling, bed: BedState, run: RunState, observation: Observation, before: KeptSet | None = None
) -> None:
    """Raise the notice if a late set was beyond a limit of its run; the worst of them stands in its title.

    Args:
        before: the version that this one corrects; what that was beyond was told then.
    """
    beyond = _beyond(handling, bed, run, observation.read_at, sure_of(observation))
    if before is not None:
        told = {rule.id for rule, *_ in _beyond(handling, bed, run, before.read_at, before.readings)}
        beyond = [found for found in beyond if found[0].id not in told]
    if not beyond:
        return
    worst, value, limit = min(beyond, key=lambda found: RANK[found[0].priority])
    spec = CATALOGUE[worst.quantity]
    others = len({rule.quantity for rule, *_ in beyond}) - 1
    when = clock_of(observation.read_at, handling.unit.zone)
    what = f"{label_at(worst.quantity, run.description)} {number(value, spec.decimals)}" + (
        say(" and {others} more", others=others) if others else ""
    )
    title = f"Late reading breached at {when}: {what}"[:60]
    onset = Onset(LATE_READING, bed.label, run.description.slot, value, limit, title=title)
    end_alert(handling, raise_alert(handling, onset))


def _beyond(
    handling: Handling, bed: BedState, run: RunState, at: Instant, readings: Mapping[Q, float]
) -> list[tuple[LimitRule, float, float]]:
    values = with_derived(readings)
    seen = _OneSet(bed, run, at, frozenset(values), True, 0, handling.ladder.timings, values)
    found = []
    for planned in planned_at(handling.watch, run).rules:
        rule, asked = planned.rule, planned.asked
        if not isinstance(rule, LimitRule) or not isinstance(asked, LimitAt) or rule.quantity in DRAWN:
            continue
        if _is_suspended(planned, run, at):
            continue
        verdict = judge_limit(asked, RuleState(), seen)
        if verdict is not None and verdict.beyond and verdict.value is not None and verdict.limit is not None:
            found.append((rule, verdict.value, verdict.limit))
    return found


def _is_suspended(planned: Planned, run: RunState, at: Instant) -> bool:
    trial = run.trial
    return trial is not None and at >= trial.began and planned.rule.id in trial.suspended
