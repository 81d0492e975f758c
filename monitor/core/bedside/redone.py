"""What was fixed from the old version of a set: results of orders and what a look remembered are worked out again.

What can no longer be worked out, because the minutes around it are forgotten, is none from then on.
"""

from monitor.core.bedside import effects, looks
from monitor.core.judging.editions import Replaced
from monitor.core.state import BedState, RunState
from shared.derived import with_derived
from shared.messages import Observation


def redo(bed: BedState, run: RunState, replaced: Replaced, observation: Observation, set_ms: int) -> None:
    """Work out again what a corrected or struck set had a part in.

    Args:
        replaced: the version that no longer counts; ``set_ms``: the age from which a set is no longer known.
    """
    before = replaced.before
    was = with_derived(before.readings)
    touched = frozenset({*was, *with_derived(observation.readings)}) if bed.by_sets else replaced.held
    times = (before.read_at, observation.read_at)
    if not bed.by_sets:  # of sets alone, results of orders are never fixed
        for one in bed.runs.values():
            effects.look_again(bed, one, touched, times)
    looks.look_again(bed, run, was, before.read_at, touched, times, set_ms)
