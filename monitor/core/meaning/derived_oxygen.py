"""Oxygen: contents, delivery, consumption and extraction, and what the oxygenator adds, by support type.

Drained blood is venous on VA and from the right atrium; on VV it has partly been through the oxygenator before, and
from the left heart it is arterial: its saturation is then no sign of what the body took.
"""

from bisect import bisect_right
from collections.abc import Iterator

from monitor.core.meaning.derived_flow import PUMP_ALONE, SYSTEMIC, estimate_caution, surface_part
from monitor.core.meaning.derived_view import DerivedView, InputView
from monitor.core.meaning.inputs import Gap, Inputs, Part, Row, work_out
from monitor.core.meaning.oxygen_contents import CURVE, Contents
from shared.instant import MINUTE
from shared.language.saying import say, to_say
from shared.physics import body, oxygen
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import Support

DRAINS_VENOUS = frozenset({Support.VA, Support.RA_PA, Support.RA_PA_OXY})
_CURVE_AFTER = to_say("Saturation after the oxygenator from its pO₂, by the dissociation curve")


def oxygen_rows(here: Inputs, size: DerivedView) -> Iterator[DerivedView]:
    """Give what the run's support type and sensors can say of oxygen."""
    support = here.run.description.support
    contents = Contents(here)
    if here.has(Q.SPO2_RIGHT_HAND):
        yield _arterial(contents)
        if _ever(here, Q.HAEMOGLOBIN):
            systemic = support in SYSTEMIC and here.has(Q.PUMP_FLOW)
            if systemic:
                yield from _delivery(here, contents, size)
            if support in DRAINS_VENOUS and here.has(Q.SVO2):
                yield from _venous(here, contents, systemic)
    if here.run.description.oxygenator and _ever(here, Q.POST_OXYGENATOR_PO2):
        if here.has(Q.SVO2) and here.has(Q.PUMP_FLOW):
            yield _transfer(here, contents)
        yield from _gas_ratio(here)


def _ever(here: Inputs, quantity: Q) -> bool:
    return here.has(quantity) or bool(here.draws(quantity))


def _arterial(contents: Contents) -> DerivedView:
    row = Row(
        id="arterial_content",
        label=say("Arterial O₂ content"),
        unit="mL/dL",
        decimals=1,
        formula=say("{arterial_formula} (Hb in g/dL)", arterial_formula=contents.arterial_formula),
    )
    return work_out(row, contents.arterial, contents.arterial_of, contents.constants, contents.arterial_cautions)


def _delivery(here: Inputs, contents: Contents, size: DerivedView) -> Iterator[DerivedView]:
    cautions = (PUMP_ALONE, *contents.arterial_cautions, estimate_caution(here))
    parts = (*contents.arterial, here.reading(Q.PUMP_FLOW))

    def carried(*values: float) -> float | Gap:
        flow = values[contents.width]
        if flow <= 0:
            return Gap(say("no blood flows forward"))
        return oxygen.delivery(contents.arterial_of(*values), flow)

    def indexed(*values: float) -> float | Gap:
        made = carried(*values)
        return made if isinstance(made, Gap) else body.indexed(made, values[-1])

    row = Row(
        id="oxygen_delivery",
        label=say("O₂ delivery by the pump"),
        unit="mL/min",
        decimals=0,
        formula=say("CaO₂ · Q · 10"),
    )
    yield work_out(row, parts, carried, contents.constants, cautions)
    surface = surface_part(size)
    if surface is not None:
        row = Row(
            id="oxygen_delivery_index",
            label=say("O₂ delivery index"),
            unit="mL/min/m²",
            decimals=0,
            formula=say("CaO₂ · Q · 10 ÷ BSA"),
        )
        yield work_out(row, (*parts, surface), indexed, contents.constants, cautions)


def _venous(here: Inputs, contents: Contents, systemic: bool) -> Iterator[DerivedView]:
    width = contents.width
    both = (*contents.arterial, contents.venous_saturation)
    cautions = tuple(dict.fromkeys((*contents.arterial_cautions, *contents.venous_cautions)))

    def taken(*values: float) -> tuple[float, float] | Gap:
        """Both contents, or why nothing follows from them."""
        arterial, venous = contents.arterial_of(*values), contents.venous_of(values[0], values[width])
        if isinstance(venous, Gap):
            return venous
        return (arterial, venous) if venous < arterial else Gap(say("venous content is not below arterial"))

    def share(*values: float) -> float | Gap:
        found = taken(*values)
        return found if isinstance(found, Gap) else 100 * oxygen.extraction(*found)

    def ratio(*values: float) -> float | Gap:
        found = taken(*values)
        return found if isinstance(found, Gap) else oxygen.delivery_to_consumption(*found)

    def consumed(*values: float) -> float | Gap:
        found, flow = taken(*values), values[-1]
        if isinstance(found, Gap) or flow <= 0:
            return found if isinstance(found, Gap) else Gap(say("no blood flows forward"))
        return oxygen.transferred(found[1], found[0], flow)

    row = Row(
        id="venous_content",
        label=say("Venous O₂ content"),
        unit="mL/dL",
        decimals=1,
        formula=say("{venous_formula} (Hb in g/dL)", venous_formula=contents.venous_formula),
    )
    parts = (contents.haemoglobin, contents.venous_saturation)
    yield work_out(row, parts, contents.venous_of, contents.constants, contents.venous_cautions)
    if systemic:
        row = Row(
            id="oxygen_consumption",
            label=say("O₂ consumption"),
            unit="mL/min",
            decimals=0,
            formula=say("(CaO₂ − CvO₂) · Q · 10"),
        )
        more = (PUMP_ALONE, *cautions, estimate_caution(here))
        yield work_out(row, (*both, here.reading(Q.PUMP_FLOW)), consumed, contents.constants, more)
    row = Row(
        id="oxygen_extraction",
        label=say("O₂ extraction"),
        unit="%",
        decimals=0,
        formula=say("(CaO₂ − CvO₂) ÷ CaO₂"),
    )
    yield work_out(row, both, share, contents.constants, cautions)
    row = Row(
        id="delivery_to_consumption",
        label=say("Delivery : consumption"),
        unit=": 1",
        decimals=1,
        formula=say("CaO₂ ÷ (CaO₂ − CvO₂)"),
    )
    yield work_out(row, both, ratio, contents.constants, cautions)


def _transfer(here: Inputs, contents: Contents) -> DerivedView:
    def added(haemoglobin: float, before: float, after_po2: float, flow: float) -> float | Gap:
        drained = contents.drained_of(haemoglobin, before)
        if isinstance(drained, Gap) or flow <= 0:
            return drained if isinstance(drained, Gap) else Gap(say("no blood flows forward"))
        after = contents.content(haemoglobin, oxygen.saturation_of(after_po2), after_po2)
        return oxygen.transferred(drained, after, flow)

    row = Row(
        id="oxygenator_transfer",
        label=say("Oxygenator O₂ transfer"),
        unit="mL/min",
        decimals=0,
        formula=say("(C after − C before) · Q · 10"),
    )
    before = contents.venous_saturation
    if isinstance(before, InputView):
        before = before.model_copy(update={"label": say("Drained saturation")})
    parts = (contents.haemoglobin, before, here.drawn(Q.POST_OXYGENATOR_PO2), here.reading(Q.PUMP_FLOW))
    cautions = (_CURVE_AFTER, CURVE, estimate_caution(here))
    return work_out(row, parts, added, contents.constants, cautions)


def _gas_ratio(here: Inputs) -> Iterator[DerivedView]:
    if not (here.has(Q.FDO2) or Q.FDO2 in here.run.signals):
        return
    row = Row(
        id="post_oxygenator_ratio",
        label=say("Post-oxy pO₂ ÷ FdO₂"),
        unit="mmHg",
        decimals=0,
        formula=say("pO₂ after the oxygenator ÷ FdO₂ at that draw"),
    )
    pressure = here.drawn(Q.POST_OXYGENATOR_PO2)
    parts = (pressure, _gas_at(here, pressure)) if isinstance(pressure, InputView) else (pressure,)
    yield work_out(row, parts, lambda po2, fdo2: oxygen.gas_ratio(po2, fdo2 / 100))


def _gas_at(here: Inputs, drawn: InputView) -> Part:
    """Give the FdO2 at the time of a draw: the reading that stood then, or the median of that minute."""
    at, label = drawn.at or 0, CATALOGUE[Q.FDO2].label
    signal, minutes = here.run.signals.get(Q.FDO2), here.run.minutes.get(Q.FDO2)
    place = bisect_right(signal.times, at) - 1 if signal else -1
    value = None
    if signal and place >= 0 and at - signal.times[place] < here.source.stale_after_ms(here.bed):
        value = signal.values[place]
    elif minutes is not None:
        value = minutes.at(at // MINUTE)
    if value is None:
        return Gap(say("no {label} known at {when}", label=label, when=here.when(at)))
    return InputView(label=label, value=value, unit="%", decimals=0, at=at)
