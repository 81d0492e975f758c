"""Which trends a bed page has, by support type and fitted sensors. Series differ by colour, dash and label."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from monitor.core.view import RunView
from monitor.desk.tile.content import is_fitted, label_of
from shared.language.saying import say
from shared.look.palette import SeriesHue
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import Side

DASH, DASH_DOT = (8.0, 5.0), (8.0, 4.0, 2.0, 4.0)
_TWO = 1.2


@dataclass(frozen=True, slots=True)
class LineSpec:
    """One series of a panel. ``per``: values are divided by it (speed in thousands). ``dash`` empty: solid."""

    quantity: Q
    label: str
    hue: SeriesHue
    dash: tuple[float, ...] = ()
    per: float = 1.0


@dataclass(frozen=True, slots=True)
class PanelSpec:
    """One panel: its title, lines, usual scale, and share of the height. The first line owns band and limits."""

    title: str
    lines: tuple[LineSpec, ...]
    scale: tuple[float, float]
    share: int


def panels_of(run: RunView, high: bool = True, *, close: bool = False) -> tuple[PanelSpec, ...]:
    """Give the panels of a run, top to bottom; a quantity that is not fitted has none.

    Where there is little height (``high`` is false), what is computed has none: it stands among the numbers. On a
    small page (``close``) two lines get more of it, for their names stand one above the other.
    """
    panels = (panel for panel in _wanted(run) if panel.lines and (high or not _is_computed(panel)))
    return tuple(
        replace(panel, share=round(_TWO * panel.share)) if close and len(panel.lines) > 1 else panel
        for panel in panels
    )


def _is_computed(panel: PanelSpec) -> bool:
    return all(line.quantity in _PARTS for line in panel.lines)


def quantities_of(panels: tuple[PanelSpec, ...]) -> tuple[Q, ...]:
    """Give the published quantities that the panels draw or compute from."""
    found: dict[Q, None] = {}
    for panel in panels:
        for line in panel.lines:
            for quantity in parts_of(line.quantity):
                found[quantity] = None
    return tuple(found)


def parts_of(quantity: Q) -> tuple[Q, ...]:
    """Give what a quantity is computed from; one that is read, itself."""
    return _PARTS.get(quantity, (quantity,))


_PARTS = {
    Q.OXYGENATOR_RESISTANCE: (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE, Q.PUMP_FLOW),
    Q.OXYGENATOR_PRESSURE_DROP: (Q.PRE_OXYGENATOR_PRESSURE, Q.POST_OXYGENATOR_PRESSURE),
}


def _wanted(run: RunView) -> Iterator[PanelSpec]:
    target = run.targets.get(Q.PUMP_FLOW)
    top = 1.4 * target if target else 7.0
    yield PanelSpec(
        say("Flow and speed"),
        _fitted(run, (Q.PUMP_FLOW, SeriesHue.FLOW, (), 1.0), (Q.PUMP_SPEED, SeriesHue.SPEED, DASH, 1000.0)),
        (0.0, top),
        25,
    )
    yield PanelSpec(
        say("Drain pressure"), _fitted(run, (Q.INLET_PRESSURE, SeriesHue.INLET, (), 1.0)), (-160, 20), 22
    )
    if run.description.oxygenator:
        pair = _fitted(
            run,
            (Q.PRE_OXYGENATOR_PRESSURE, SeriesHue.PRE, (), 1.0),
            (Q.POST_OXYGENATOR_PRESSURE, SeriesHue.POST, DASH_DOT, 1.0),
        )
        yield PanelSpec(say("Before and after the oxygenator"), pair, (0, 350), 20)
        if len(pair) == 2:
            line = LineSpec(Q.OXYGENATOR_RESISTANCE, say("Oxy ΔP / flow"), SeriesHue.SPEED, DASH)
            yield PanelSpec(say("Oxygenator resistance, computed"), (line,), (0, 15), 13)
    else:
        outlet = _fitted(run, (Q.POST_OXYGENATOR_PRESSURE, SeriesHue.POST, (), 1.0))
        yield PanelSpec(say("Outlet pressure"), outlet, (0, 350), 20)
    yield PanelSpec(say("MAP"), _fitted(run, (Q.MEAN_ARTERIAL_PRESSURE, SeriesHue.MAP, (), 1.0)), (30, 110), 20)
    if not is_fitted(run, Q.MEAN_ARTERIAL_PRESSURE) or run.description.side in (Side.NONE, Side.RIGHT):
        yield PanelSpec(say("Saturation"), _fitted(run, (Q.SPO2_RIGHT_HAND, SeriesHue.PRE, (), 1.0)), (70, 100), 16)


def _fitted(run: RunView, *lines: tuple[Q, SeriesHue, tuple[float, ...], float]) -> tuple[LineSpec, ...]:
    return tuple(
        LineSpec(quantity, label_of(quantity, run), hue, dash, per)
        for quantity, hue, dash, per in lines
        if is_fitted(run, quantity)
    )


def unit_of(line: LineSpec) -> str:
    """Give the unit of a line's number at its end."""
    return CATALOGUE[line.quantity].unit
