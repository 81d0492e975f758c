"""What changed at a run, in order: for each quantity the onset of a departure that still stands.

Two scales look for it: medians of minutes over four hours for what comes slowly, medians of ten seconds over the
last ten minutes for what comes at once. A departure is from the bed's own baseline: that of the last order once it
stands, else that of the run, else from the median before. An order begins anew: what changed before it is no longer
told. Nothing is told of a quantity that is not fresh, that stands still with its console, or that is estimated.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import chain

from monitor.analysis.baseline import Baseline
from monitor.analysis.blocks import block_medians
from monitor.analysis.noise import noise_of
from monitor.analysis.onset import Departure, Sizes, departure, later_step, sharpened
from monitor.core.judging.plan import stands_still
from monitor.core.judging.verdict import fitted
from monitor.core.meaning.sizes import LEAST, digit_of, least_change
from monitor.core.meaning.source import Source
from monitor.core.meaning.trend_view import Against, ChangeView
from monitor.core.state import BedState, RunState
from shared.instant import MINUTE, SECOND, Instant
from shared.quantities import CATALOGUE, Quantity, Scope

#: The scale of what comes at once: how far back, in which blocks, and up to which interval of reading.
RECENT_MS, BLOCK_MS, SLOWEST_MS = 10 * MINUTE, 10 * SECOND, 5 * SECOND
#: A change that is made within this time came at once.
AT_ONCE_MS = MINUTE
#: What an order moves at once is no change of its own: the fast scale begins so long after it.
AFTER_ORDER_MS = MINUTE
#: Onsets of both scales nearer than this are one and the same change.
SAME_MS = 150 * SECOND

_OF_FLOW = frozenset({Quantity.PUMP_FLOW, Quantity.OXYGENATOR_RESISTANCE, Quantity.SPEED_YIELD})


@dataclass(frozen=True, slots=True)
class Reference:
    """What was usual: its value where a baseline stands, whose it is, and from when on readings count."""

    value: float | None
    against: Against
    begin: Instant


def changes_of(source: Source, bed: BedState, run: RunState) -> tuple[ChangeView, ...]:
    """Give what changed and still stands, in order of onset; a quantity may come twice, first slowly, then at once.

    Only what is fitted, fresh and read at least once a minute by a feed. Two onsets nearer to
    each other than their ``resolution_ms`` stand in the order of the page, not of time.
    """
    if bed.interval_ms > MINUTE:
        return ()
    found = chain.from_iterable(_changes(source, bed, run, quantity) for quantity in LEAST)
    return tuple(sorted(found, key=lambda change: change.onset))


def reference_of(run: RunState, quantity: Quantity) -> Reference:
    """Give what a quantity of a run is compared with now."""
    if run.orders:
        baseline = run.order_baselines.get(quantity)
        if baseline is not None and baseline.value is not None:
            return Reference(baseline.value, "order", baseline.begin)
        return Reference(None, "before", max(run.orders) + AFTER_ORDER_MS)
    standing: Baseline | None = run.run_baselines.get(quantity)
    if standing is not None and standing.value is not None:
        return Reference(standing.value, "run", standing.begin)
    return Reference(None, "before", run.started_at)


def is_told(source: Source, bed: BedState, run: RunState, quantity: Quantity) -> bool:
    """Tell whether anything may be said of a quantity now: fitted, fresh, measured, and not standing still."""
    if not fitted(run, quantity) or source.fresh(bed, run, quantity) is None:
        return False
    if CATALOGUE[quantity].scope is Scope.RUN and stands_still(run):
        return False
    flow = run.signals.get(Quantity.PUMP_FLOW)
    return not (quantity in _OF_FLOW and flow and flow.estimated)


def _changes(source: Source, bed: BedState, run: RunState, quantity: Quantity) -> Iterator[ChangeView]:
    if not is_told(source, bed, run, quantity):
        return
    reference = reference_of(run, quantity)
    now = source.settled(bed, run, quantity)
    slow, fast = _slow(run, quantity, reference), _fast(source, bed, run, quantity, reference)
    for one in _merged(slow, fast, reference, least_change(quantity)):
        if now is None or abs(now.value - one.usual) < 0.5 * least_change(quantity):
            continue  # it is back: the closed minutes do not know yet
        yield ChangeView(
            quantity=quantity,
            onset=one.onset,
            sudden=one.sudden,
            up=one.after > one.before,
            before=one.before,
            value=now.value,
            at=now.at,
            unit=CATALOGUE[quantity].unit,
            resolution_ms=one.resolution_ms,
            after_gap=one.after_gap,
            usual=one.usual,
            against=reference.against if one.usual == reference.value else "before",
        )


def _slow(run: RunState, quantity: Quantity, reference: Reference) -> list[Departure]:
    minutes = run.minutes.get(quantity)
    if minutes is None:
        return []
    noise = noise_of(list(minutes.since(0)), MINUTE, digit_of(quantity))
    if noise is None:
        return []
    blocks = list(minutes.since(reference.begin))
    sizes = Sizes(MINUTE, AT_ONCE_MS, noise, least_change(quantity))
    first = departure(blocks, reference.value, sizes)
    if first is None:
        return []
    second = later_step(blocks, first, sizes)
    return [first] if second is None else [first, second]


def _fast(
    source: Source, bed: BedState, run: RunState, quantity: Quantity, reference: Reference
) -> Departure | None:
    if bed.interval_ms > SLOWEST_MS:
        return None
    begin = max(source.now - RECENT_MS, reference.begin)
    samples = list(run.signals[quantity].since(begin))
    blocks = block_medians(samples, BLOCK_MS, bed.interval_ms)
    noise = noise_of(blocks, BLOCK_MS, digit_of(quantity))
    if noise is None:
        return None
    found = departure(blocks, None, Sizes(BLOCK_MS, AT_ONCE_MS, noise, least_change(quantity)))
    return sharpened(samples, found, bed.interval_ms) if found is not None and found.sudden else found


def _merged(
    slow: list[Departure], fast: Departure | None, reference: Reference, least: float
) -> Iterator[Departure]:
    """Put what both scales found together: what came at once takes the finer date."""
    if fast is None:
        yield from slow
        return
    if slow and abs(fast.after - slow[0].usual) < least:
        return  # it has just come back
    same = [one for one in slow if abs(one.onset - fast.onset) <= SAME_MS and not one.after_gap and fast.sudden]
    if same:
        yield from (one for one in slow if one not in same)
        yield replace(same[-1], onset=fast.onset, resolution_ms=fast.resolution_ms, sudden=True)
    elif slow:
        yield from slow
        if fast.sudden and abs(fast.after - fast.before) >= 2 * least and slow[0].onset < fast.onset:
            yield fast
    elif reference.value is None:
        yield fast
    elif abs(fast.after - reference.value) >= least:
        yield replace(fast, usual=reference.value)
