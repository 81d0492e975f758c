"""What was learned of a bed's pump, as rows beside the computed numbers: its flow, and the current asked for. Pure.

Both are the bed's own past, never a measurement: no rule reads them, and they say so.
"""

from collections.abc import Iterator

from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.flow_view import CurrentView, FlowEstimateView
from monitor.core.meaning.view import Meaning
from monitor.desk.paint.text import format_number
from shared.instant import Instant

_FLOW, _CURRENT = "L/min", "A"


def learned_rows(meaning: Meaning) -> tuple[DerivedView, ...]:
    """Give a row for the flow that was learned and one for the motor current; none where it is not fitted."""
    return tuple(_rows(meaning))


def _rows(meaning: Meaning) -> Iterator[DerivedView]:
    if meaning.flow_estimate is not None:
        yield _flow(meaning.flow_estimate, meaning.at)
    if meaning.current is not None:
        yield _current(meaning.current, meaning.at)


def _flow(flow: FlowEstimateView, at: Instant) -> DerivedView:
    beside = [
        InputView(label=label, value=value, unit=_FLOW, at=at, decimals=2)
        for label, value in (("Measured", flow.measured), ("Console's own estimate", flow.console))
        if value is not None
    ]
    return DerivedView(
        id="flow_learned",
        label="Flow, learned here",
        value=flow.value,
        unit=_FLOW,
        formula=" ".join(
            part
            for part in (
                f"{flow.source}." if flow.source else "",
                _interval(flow.low, flow.high),
                _past(flow.minutes, flow.speeds),
            )
            if part
        ),
        inputs=tuple(beside),
        caution=" ".join(f"{part}." for part in (flow.differs, flow.caution) if part),
        missing=flow.refused,
    )


def _current(current: CurrentView, at: Instant) -> DerivedView:
    measured = () if current.measured is None else (_reading(current.measured, at),)
    return DerivedView(
        id="current_expected",
        label="Current, asked for",
        value=current.expected,
        unit=_CURRENT,
        formula=" ".join(
            part for part in (_interval(current.low, current.high), _past(current.minutes, current.speeds)) if part
        ),
        inputs=measured,
        caution=f"{current.words}." if current.words else "",
        missing=current.refused,
    )


def _reading(value: float, at: Instant) -> InputView:
    return InputView(label="Measured", value=value, unit=_CURRENT, at=at, decimals=2)


def _interval(low: float | None, high: float | None) -> str:
    if low is None or high is None:
        return ""
    return f"90 % interval {format_number(low, 2)} to {format_number(high, 2)}."


def _past(minutes: int, speeds: tuple[float, ...]) -> str:
    at = ", ".join(format_number(speed, 0) for speed in speeds)
    return f"From {minutes} measured min{f' at {at} rpm' if at else ''}. No rule reads it."
