"""What differs from the beginning of the hours, in words: runs, targets, own limits, devices, and what was read."""

from collections.abc import Iterator

from monitor.core.view import LimitView, RunView, TileView
from monitor.reports.shift.figures import RunFigures
from shared.instant import Instant
from shared.language.saying import say
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import label_at

#: How far the median of the last half hour must be from that of the first to be told. Defaults chosen here.
_SHARE = {Q.PUMP_FLOW: 0.05}
_UNITS = {
    Q.PUMP_SPEED: 50.0, Q.INLET_PRESSURE: 10.0, Q.PRE_OXYGENATOR_PRESSURE: 15.0, Q.POST_OXYGENATOR_PRESSURE: 15.0,
    Q.MEAN_ARTERIAL_PRESSURE: 5.0, Q.SPO2_RIGHT_HAND: 3.0, Q.SVO2: 5.0, Q.SWEEP_GAS_FLOW: 0.5,
    Q.CENTRAL_VENOUS_PRESSURE: 3.0,
}  # fmt: skip


def changes_of(
    before: TileView | None, after: TileView | None, runs: tuple[RunFigures, ...], begin: Instant
) -> Iterator[str]:
    """Give the differences of a bed, what people changed first."""
    for run in runs:
        if run.began >= begin:
            yield say("New here: {words}", words=run.words)
        if run.ended is not None:
            yield say("No longer here: {words}", words=run.words)
    old = {run.description.run_id: run for run in before.runs} if before else {}
    for now in after.runs if after else ():
        then = old.get(now.description.run_id)
        if then is not None:
            yield from _between(then, now)
    for run in runs:
        for one in run.quantities:
            if one.first is not None and one.last is not None and _moved(one.quantity, one.first, one.last):
                spec = CATALOGUE[one.quantity]
                yield (
                    f"{run.label(one.quantity)} {shown(one.quantity, one.first)} → {shown(one.quantity, one.last)} "
                    f"{spec.unit}{_side(run, runs)}"
                )


def shown(quantity: Q, value: float) -> str:
    """Write a value with the quantity's digits and a true minus."""
    text = f"{value:.{CATALOGUE[quantity].decimals}f}"
    return (text[1:] if text.startswith("-") and float(text) == 0 else text).replace("-", "−")


def measured(quantity: Q, value: float) -> str:
    """Write a value with its unit: ``−90 mmHg``."""
    return f"{shown(quantity, value)} {CATALOGUE[quantity].unit}".rstrip()


def _between(then: RunView, now: RunView) -> Iterator[str]:
    for quantity in {**then.targets, **now.targets}:
        old, new = (run.targets.get(quantity) for run in (then, now))
        if old != new:
            words = [say("none") if value is None else shown(quantity, value) for value in (old, new)]
            yield say(
                "Target {label_at} {words} → {words_2} {unit}",
                label_at=label_at(quantity, now.description),
                words=words[0],
                words_2=words[1],
                unit=CATALOGUE[quantity].unit,
            )
    owns = [{limit.rule: limit for limit in run.settable if limit.own is not None} for run in (then, now)]
    for rule in {**owns[0], **owns[1]}:
        words = [_own_of(own.get(rule)) for own in owns]
        if words[0] != words[1]:
            one = owns[0].get(rule) or owns[1][rule]
            side = say("above") if one.above else say("below")
            yield say(
                "Limit {label_at} {side}: {words} → {words_2}",
                label_at=label_at(one.quantity, now.description),
                side=side,
                words=words[0],
                words_2=words[1],
            )
    for device, since in now.device_since.items():
        if then.device_since.get(device) != since:
            yield say("New {device}", device=device.replace("_", " "))


def _own_of(limit: LimitView | None) -> str:
    if limit is None or limit.own is None:
        return say("default")
    return measured(limit.quantity, limit.own.value)


def _moved(quantity: Q, before: float, after: float) -> bool:
    enough = _UNITS.get(quantity, _SHARE.get(quantity, 1.0) * abs(before))
    return abs(after - before) >= enough > 0


def _side(run: RunFigures, runs: tuple[RunFigures, ...]) -> str:
    return f" ({run.words.split(',')[0]})" if len({one.slot for one in runs}) > 1 else ""
