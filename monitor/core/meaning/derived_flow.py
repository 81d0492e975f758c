"""What follows from flow and pressures: index, resistances, yield, and the power that reaches the blood."""

from collections.abc import Iterator

from monitor.core.constants import BodySurface, ResistanceFactor
from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.inputs import ESTIMATED, Gap, Inputs, Part, Row, work_out
from shared.derived import LEAST_FLOW, LEAST_SPEED
from shared.language.saying import say, to_say
from shared.language.writing import shortest
from shared.physics import body, pump, resistance
from shared.quantities import Quantity as Q
from shared.support import Support

#: Supports that pump into the systemic circulation. On VV and RA-PA the heart still drives it all.
SYSTEMIC = frozenset({Support.VA, Support.LA_AO, Support.LV_AO})
PUMP_ALONE = to_say("Pump flow only: what the heart ejects is not in it")
_SURFACE = {
    BodySurface.MOSTELLER: (to_say("Mosteller"), to_say("√(height · weight ÷ 3600)")),
    BodySurface.DU_BOIS: (to_say("Du Bois"), to_say("0.007184 · weight^0.425 · height^0.725")),
}
_TOO_LITTLE = Gap(say("flow is below {least:g} L/min: a quotient says nothing", least=LEAST_FLOW))


def size_of(here: Inputs) -> DerivedView:
    """Give the body surface, of whichever of the bed's runs knows the patient's size."""
    named, formula = _SURFACE[here.source.configuration.unit.constants.body_surface]
    row = Row(id="body_surface", label=say("Body surface"), unit="m²", decimals=2, formula=f"{named}: {formula}")
    runs = (here.run, *here.bed.runs.values())
    known = [run.description for run in runs if run.description.weight and run.description.height]
    parts: list[Part] = [Gap(say("weight and height are not written down"))]
    if known:
        parts = [
            InputView(label=say("Height"), value=known[0].height or 0.0, unit="cm", decimals=0),
            InputView(label=say("Weight"), value=known[0].weight or 0.0, unit="kg", decimals=1),
        ]
    return work_out(row, parts, here.source.configuration.unit.constants.surface)


def surface_part(size: DerivedView) -> InputView | None:
    """Give the body surface as an input, or ``None`` where it is not known."""
    if size.value is None:
        return None
    return InputView(
        label=say("Body surface ({split})", split=size.formula.split(":")[0]), value=size.value, unit="m²"
    )


def estimate_caution(here: Inputs) -> str:
    """Say that the console only estimates the flow, where it does."""
    signal = here.run.signals.get(Q.PUMP_FLOW)
    return ESTIMATED if signal is not None and signal.estimated else ""


def flow_rows(here: Inputs, size: DerivedView) -> Iterator[DerivedView]:
    """Give what follows from flow and pressures, where the run has what it needs."""
    if not here.has(Q.PUMP_FLOW):
        return
    flow, guess = here.reading(Q.PUMP_FLOW), estimate_caution(here)
    surface = surface_part(size)
    if surface is not None:
        row = Row(id="flow_index", label=say("Flow index"), unit="L/min/m²", decimals=2, formula=say("Q ÷ BSA"))
        yield work_out(row, (flow, surface), body.indexed, cautions=(guess,))
    if here.has(Q.SPEED_YIELD):
        row = Row(
            id="speed_yield", label=say("Flow per 1 000 rpm"), unit="L/min", decimals=2, formula="Q ÷ N · 1 000"
        )
        yield work_out(row, (flow, here.reading(Q.PUMP_SPEED)), _yield, cautions=(guess,))
    if here.has(Q.OXYGENATOR_RESISTANCE):
        row = Row(
            id="oxygenator_resistance",
            label=say("Oxygenator ΔP ÷ flow"),
            unit="mmHg·min/L",
            decimals=1,
            formula=say("(Ppre − Ppost) ÷ Q"),
        )
        pressures = (here.reading(Q.PRE_OXYGENATOR_PRESSURE), here.reading(Q.POST_OXYGENATOR_PRESSURE))
        yield work_out(row, (*pressures, flow), _wood, cautions=(guess,))
    yield from _power(here, flow, guess)
    yield from _systemic(here, flow, surface, guess)


def _systemic(here: Inputs, flow: Part, surface: InputView | None, guess: str) -> Iterator[DerivedView]:
    needed = (Q.MEAN_ARTERIAL_PRESSURE, Q.CENTRAL_VENOUS_PRESSURE)
    if here.run.description.support not in SYSTEMIC or not all(here.has(quantity) for quantity in needed):
        return
    constants = here.source.configuration.unit.constants
    rounded = constants.resistance_factor is ResistanceFactor.ROUNDED
    factor = InputView(
        label=say("Factor"), value=constants.factor, unit="dyn·s·cm⁻⁵ in 1 WU", decimals=0 if rounded else 4
    )
    parts = (*(here.reading(quantity) for quantity in needed), flow)
    row = Row(
        id="systemic_resistance",
        label=say("Systemic resistance"),
        unit="dyn·s·cm⁻⁵",
        decimals=0,
        formula=say("factor · (MAP − CVP) ÷ Q"),
    )
    cautions = (PUMP_ALONE, guess)

    def resist(arterial: float, venous: float, through: float) -> float | Gap:
        wood = _wood(arterial, venous, through)
        return wood if isinstance(wood, Gap) else resistance.vascular(arterial, venous, through, constants.factor)

    def per_surface(arterial: float, venous: float, through: float, area: float) -> float | Gap:
        made = resist(arterial, venous, through)
        return made if isinstance(made, Gap) else resistance.vascular_index(made, area)

    yield work_out(row, parts, resist, (factor,), cautions)
    wood = Row(
        id="systemic_resistance_wood",
        label=say("Same, in Wood units"),
        unit="WU",
        decimals=1,
        formula=say("(MAP − CVP) ÷ Q"),
    )
    yield work_out(wood, parts, _wood, cautions=cautions)
    if surface is not None:
        index = Row(
            id="systemic_resistance_index",
            label=say("Systemic resistance index"),
            unit="dyn·s·cm⁻⁵·m²",
            decimals=0,
            formula=say("factor · (MAP − CVP) ÷ Q · BSA"),
        )
        yield work_out(index, (*parts, surface), per_surface, (factor,), cautions)


def _power(here: Inputs, flow: Part, guess: str) -> Iterator[DerivedView]:
    outlet = Q.PRE_OXYGENATOR_PRESSURE if here.run.description.oxygenator else Q.POST_OXYGENATOR_PRESSURE
    if not (here.has(outlet) and here.has(Q.INLET_PRESSURE)):
        return
    named = "" if here.run.description.oxygenator else say("Outlet P")
    parts = (here.reading(outlet, named), here.reading(Q.INLET_PRESSURE), flow)
    row = Row(
        id="hydraulic_power",
        label=say("Hydraulic power"),
        unit="W",
        decimals=2,
        formula=say("(Pout − Pin) · Q · 0.00222204"),
    )
    yield work_out(row, parts, _hydraulic, cautions=(guess,))
    if not here.has(Q.MOTOR_CURRENT):
        return
    profile = here.run.description.profile
    known = here.source.configuration.pumps.get(profile)
    voltage: Part = Gap(say("the motor voltage of pump {profile} is not known", profile=profile))
    if known is not None:
        voltage = InputView(
            label=say("Voltage of pump {profile}", profile=profile), value=known.motor_voltage, unit="V", decimals=1
        )
    row = Row(
        id="overall_efficiency",
        label=say("Overall efficiency"),
        unit="%",
        decimals=0,
        formula=say("hydraulic power ÷ (current · voltage)"),
    )
    yield work_out(row, (*parts, here.reading(Q.MOTOR_CURRENT), voltage), _efficiency, cautions=(guess,))


def _yield(flow: float, speed: float) -> float | Gap:
    if speed < LEAST_SPEED:
        return Gap(
            say("speed is below {least_speed} rpm: a quotient says nothing", least_speed=shortest(LEAST_SPEED))
        )
    return flow / speed * 1000


def _wood(high: float, low: float, flow: float) -> float | Gap:
    return resistance.wood_units(high, low, flow) if flow >= LEAST_FLOW else _TOO_LITTLE


def _hydraulic(outlet: float, inlet: float, flow: float) -> float | Gap:
    return pump.hydraulic_power(outlet - inlet, flow) if flow >= LEAST_FLOW else _TOO_LITTLE


def _efficiency(outlet: float, inlet: float, flow: float, current: float, voltage: float) -> float | Gap:
    given, taken = _hydraulic(outlet, inlet, flow), pump.electrical_power(voltage, current)
    if isinstance(given, Gap):
        return given
    return 100 * pump.overall_efficiency(given, taken) if taken > 0 else Gap(say("the motor takes no current"))
