"""The door: what an observation must be before anything else sees it.

A reading beyond the hard range of its quantity is left out and the rest is kept: one failed sensor must not blind
the others. If nothing is left, the observation is refused.
"""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from shared.instant import MINUTE, Instant
from shared.language.saying import say
from shared.messages import Observation, RefusalReason
from shared.quantities import CATALOGUE, Quantity

FUTURE_MS = 2 * MINUTE


@dataclass(frozen=True, slots=True)
class Refusal:
    """Why something stays outside, for a counter and for a person."""

    reason: RefusalReason
    detail: str


@dataclass(frozen=True, slots=True)
class Admitted:
    """An observation that may come in, and what was left out of it."""

    observation: Observation
    left_out: Refusal | None = None


def admit(
    observation: Observation,
    slots: Mapping[str, Iterable[int]],
    now: Instant,
    ended: Mapping[str, Mapping[int, Instant]],
) -> Admitted | Refusal:
    """Check an observation. What was read before a run ended and comes after it is still that run's.

    Args:
        slots: the unit's beds, each with the slots in which a run is open.
        now: the hub's time.
        ended: by bed and slot, when the last run ended where none is open.
    """
    bed = observation.bed
    if bed not in slots:
        return Refusal(RefusalReason.UNKNOWN_BED, say("there is no bed {bed} in this unit", bed=bed))
    if observation.slot not in slots[bed] and observation.read_at > ended.get(bed, {}).get(observation.slot, 0):
        return Refusal(
            RefusalReason.UNKNOWN_RUN, say("no run is open in slot {slot} of {bed}", slot=observation.slot, bed=bed)
        )
    ahead = observation.read_at - now
    if ahead > FUTURE_MS:
        return Refusal(
            RefusalReason.FUTURE_TIME,
            say("read {ahead:.0f} s after the hub's time: set the feed's clock", ahead=ahead / 1000),
        )
    return _without_impossible(observation)


def _without_impossible(observation: Observation) -> Admitted | Refusal:
    impossible = [q for q, value in observation.readings.items() if not CATALOGUE[q].admits(value)]
    if not impossible:
        return Admitted(observation)
    refusal = Refusal(RefusalReason.IMPOSSIBLE_VALUE, _words(observation, impossible))
    kept = {q: value for q, value in observation.readings.items() if q not in impossible}
    if not kept:
        return refusal
    rest = observation.model_copy(
        update={
            "readings": kept,
            "estimated": observation.estimated.intersection(kept),
            "doubtful": observation.doubtful.intersection(kept),
        }
    )
    return Admitted(rest, refusal)


def _words(observation: Observation, impossible: Iterable[Quantity]) -> str:
    said = []
    for quantity in impossible:
        spec = CATALOGUE[quantity]
        value = observation.readings[quantity]
        said.append(
            say(
                "{quantity} = {value:g}, possible {low:g} to {high:g} {unit}",
                quantity=quantity,
                value=value,
                low=spec.low,
                high=spec.high,
                unit=spec.unit,
            )
        )
    return f"{observation.bed}: {'; '.join(said)}"[:500]
