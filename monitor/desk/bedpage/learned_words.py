"""What was learned of a bed's pump, as rows beside the computed numbers: its flow, and the current asked for. Pure.

Both are the bed's own past, never a measurement: no rule reads them, and they say so.
"""

from collections.abc import Iterator

from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.flow_view import CurrentView, FlowEstimateView
from monitor.core.meaning.view import Meaning
from monitor.desk.paint.text import format_number
from shared.instant import Instant
from shared.language.saying import say

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
    past = (flow.low, flow.high, flow.minutes, flow.speeds, _FLOW)
    return DerivedView(
        id="flow_learned",
        label=say("Flow, learned here"),
        value=flow.value,
        unit=_FLOW,
        formula=_sentences(flow.source, *_from(*past)),
        inputs=(
            *_read(say("Measured"), flow.measured, _FLOW, at),
            *_read(say("Console's own estimate"), flow.console, _FLOW, at),
        ),
        caution=_sentences(flow.differs, flow.caution),
        missing=flow.refused,
    )


def _current(current: CurrentView, at: Instant) -> DerivedView:
    past = (current.low, current.high, current.minutes, current.speeds, _CURRENT)
    return DerivedView(
        id="current_expected",
        label=say("Motor current, expected"),
        value=current.expected,
        unit=_CURRENT,
        formula=_sentences(*_from(*past)),
        inputs=_read(say("Measured"), current.measured, _CURRENT, at),
        caution=_sentences(current.words),
        missing=current.refused,
    )


def _read(label: str, value: float | None, unit: str, at: Instant) -> tuple[InputView, ...]:
    return () if value is None else (InputView(label=label, value=value, unit=unit, at=at, decimals=2),)


def _from(
    low: float | None, high: float | None, minutes: int, speeds: tuple[float, ...], unit: str
) -> Iterator[str]:
    if low is not None and high is not None:
        yield say(
            "90 % interval {format_number} to {format_number2} {unit}",
            format_number=format_number(low, 2),
            format_number2=format_number(high, 2),
            unit=unit,
        )
    at = ", ".join(format_number(speed, 0) for speed in speeds)
    yield say("From {minutes} measured min{at}", minutes=minutes, at=say(" at {at} rpm", at=at) if at else "")
    yield say("No rule reads it")


def _sentences(*parts: str) -> str:
    return " ".join(f"{part}." for part in parts if part)
