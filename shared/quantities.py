"""The catalogue of quantities: everything that a feed may publish, and the few that are derived.

Ids are the words of the wire, of the configuration and of the record. Units are UCUM. A hard range is what
the quantity can physically be: a reading beyond it is refused, a reading inside it is a value however odd it
looks (back flow of -1.8 L/min is real). Codes are those of open standards, left empty where none is known.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial
from types import MappingProxyType

from shared.word import Word


class Quantity(Word):
    """Ids of all quantities, derived ones last."""

    PUMP_SPEED = "pump_speed"
    PUMP_FLOW = "pump_flow"
    INLET_PRESSURE = "inlet_pressure"
    PRE_OXYGENATOR_PRESSURE = "pre_oxygenator_pressure"
    POST_OXYGENATOR_PRESSURE = "post_oxygenator_pressure"
    MOTOR_CURRENT = "motor_current"
    CONSOLE_TEMPERATURE = "console_temperature"
    ON_MAINS = "on_mains"
    BATTERY_CHARGE = "battery_charge"
    BATTERY_MINUTES = "battery_minutes"
    SWEEP_GAS_FLOW = "sweep_gas_flow"
    FDO2 = "fdo2"
    BLOOD_TEMPERATURE = "blood_temperature"
    MEAN_ARTERIAL_PRESSURE = "mean_arterial_pressure"
    SYSTOLIC_PRESSURE = "systolic_pressure"
    DIASTOLIC_PRESSURE = "diastolic_pressure"
    PULSE_PRESSURE = "pulse_pressure"
    CENTRAL_VENOUS_PRESSURE = "central_venous_pressure"
    LEFT_ATRIAL_PRESSURE = "left_atrial_pressure"
    PA_MEAN_PRESSURE = "pa_mean_pressure"
    PA_DIASTOLIC_PRESSURE = "pa_diastolic_pressure"
    HEART_RATE = "heart_rate"
    SPO2_RIGHT_HAND = "spo2_right_hand"
    SPO2_FOOT = "spo2_foot"
    SVO2 = "svo2"
    ARTERIAL_PO2 = "arterial_po2"
    PRE_OXYGENATOR_PO2 = "pre_oxygenator_po2"
    PRE_OXYGENATOR_PCO2 = "pre_oxygenator_pco2"
    POST_OXYGENATOR_PO2 = "post_oxygenator_po2"
    POST_OXYGENATOR_PCO2 = "post_oxygenator_pco2"
    HAEMOGLOBIN = "haemoglobin"
    HAEMATOCRIT = "haematocrit"
    LACTATE = "lactate"
    PLASMA_FREE_HAEMOGLOBIN = "plasma_free_haemoglobin"
    LDH = "ldh"
    ACT = "act"
    APTT = "aptt"
    APTT_RATIO = "aptt_ratio"
    ANTI_XA = "anti_xa"
    PLATELETS = "platelets"
    FIBRINOGEN = "fibrinogen"
    D_DIMER = "d_dimer"
    HEPARIN_RATE = "heparin_rate"
    LIMB_NIRS_LEFT = "limb_nirs_left"
    LIMB_NIRS_RIGHT = "limb_nirs_right"
    URINE_OUTPUT = "urine_output"
    OXYGENATOR_PRESSURE_DROP = "oxygenator_pressure_drop"
    OXYGENATOR_RESISTANCE = "oxygenator_resistance"
    SPEED_YIELD = "speed_yield"


class Scope(Word):
    """Whom a quantity belongs to: one support run, or the patient in the bed (shared by two runs)."""

    RUN = "run"
    BED = "bed"


@dataclass(frozen=True, slots=True, kw_only=True)
class QuantitySpec:
    """What the catalogue says of one quantity.

    Attributes:
        label: short words for a tile or a table.
        ucum: UCUM unit; ``{rev}/min`` for rotational speed, ``1`` for a ratio or a yes/no.
        unit: how a person writes that unit.
        low, high: the hard range, both ends possible.
        decimals: digits after the point on a screen.
        signed: a minus is possible, and entry asks for it.
        scope: run or bed.
        derived: computed, never published or entered.
        codes: pairs of system and code in open standards; where each was seen stands in ``tests/published``.
    """

    label: str
    ucum: str
    unit: str
    low: float
    high: float
    decimals: int = 0
    signed: bool = False
    scope: Scope = Scope.BED
    derived: bool = False
    codes: tuple[tuple[str, str], ...] = ()

    def admits(self, value: float) -> bool:
        """Tell whether ``value`` is physically possible (a NaN never is)."""
        return self.low <= value <= self.high


MDC = "urn:iso:std:iso:11073:10101"
LOINC = "http://loinc.org"
SNOMED = "http://snomed.info/sct"


def _codes(mdc: str = "", loinc: str = "", snomed: str = "") -> tuple[tuple[str, str], ...]:
    pairs = ((MDC, mdc), (LOINC, loinc), (SNOMED, snomed))
    return tuple((system, code) for system, code in pairs if code)


def _entry(
    label: str,
    ucum: str,
    unit: str,
    low: float,
    high: float,
    decimals: int = 0,
    *,
    scope: Scope,
    signed: bool = False,
    derived: bool = False,
    codes: tuple[tuple[str, str], ...] = (),
) -> QuantitySpec:
    return QuantitySpec(
        label=label,
        ucum=ucum,
        unit=unit,
        low=low,
        high=high,
        decimals=decimals,
        signed=signed,
        scope=scope,
        derived=derived,
        codes=codes,
    )


_run = partial(_entry, scope=Scope.RUN)
_bed = partial(_entry, scope=Scope.BED)

_Q = Quantity
_MMHG = ("mm[Hg]", "mmHg")

CATALOGUE: Mapping[Quantity, QuantitySpec] = MappingProxyType(
    {
        # the circuit and its console
        _Q.PUMP_SPEED: _run("Speed", "{rev}/min", "rpm", 0, 12_000),
        _Q.PUMP_FLOW: _run("Flow", "L/min", "L/min", -5, 10, 1, signed=True, codes=_codes(snomed="251288004")),
        _Q.INLET_PRESSURE: _run("Drain P", *_MMHG, -400, 100, signed=True, codes=_codes(snomed="252076005")),
        _Q.PRE_OXYGENATOR_PRESSURE: _run("Pre-oxy P", *_MMHG, -50, 700, signed=True),
        _Q.POST_OXYGENATOR_PRESSURE: _run(
            "Post-oxy P", *_MMHG, -50, 600, signed=True, codes=_codes(snomed="386534000")
        ),
        _Q.MOTOR_CURRENT: _run("Motor current", "A", "A", 0, 20, 2),
        _Q.CONSOLE_TEMPERATURE: _run("Console temp", "Cel", "°C", -20, 120, 1),
        _Q.ON_MAINS: _run("Mains", "1", "", 0, 1, codes=_codes(mdc="67925")),
        _Q.BATTERY_CHARGE: _run("Battery", "%", "%", 0, 100, codes=_codes(mdc="67996")),
        _Q.BATTERY_MINUTES: _run("Battery time", "min", "min", 0, 1_440, codes=_codes(mdc="67976")),
        _Q.SWEEP_GAS_FLOW: _run(
            "Sweep", "L/min", "L/min", 0, 20, 1, codes=_codes(loinc="19941-4", snomed="79063001")
        ),
        _Q.FDO2: _run("FdO₂", "%", "%", 21, 100),
        # the patient
        _Q.BLOOD_TEMPERATURE: _bed(
            "Blood temp", "Cel", "°C", 15, 43, 1, codes=_codes(mdc="188436", loinc="60834-9")
        ),
        _Q.MEAN_ARTERIAL_PRESSURE: _bed("MAP", *_MMHG, 0, 250, codes=_codes("150039", "76214-6")),
        _Q.SYSTOLIC_PRESSURE: _bed("Systolic", *_MMHG, 0, 300),
        _Q.DIASTOLIC_PRESSURE: _bed("Diastolic", *_MMHG, 0, 250),
        _Q.PULSE_PRESSURE: _bed("PP", *_MMHG, 0, 250),
        _Q.CENTRAL_VENOUS_PRESSURE: _bed("CVP", *_MMHG, -20, 60, signed=True, codes=_codes("150087", "60985-9")),
        _Q.LEFT_ATRIAL_PRESSURE: _bed("LA P", *_MMHG, -20, 80, signed=True, codes=_codes("150067", "8399-8")),
        _Q.PA_MEAN_PRESSURE: _bed("PA mean", *_MMHG, -20, 150, signed=True, codes=_codes("150047", "8414-5")),
        _Q.PA_DIASTOLIC_PRESSURE: _bed("PA dia", *_MMHG, -20, 120, signed=True),
        _Q.HEART_RATE: _bed("Heart rate", "/min", "/min", 0, 350, codes=_codes("147842", "8867-4")),
        _Q.SPO2_RIGHT_HAND: _bed("SpO₂ R", "%", "%", 0, 100, codes=_codes("150456", "59408-5")),
        _Q.SPO2_FOOT: _bed("SpO₂ foot", "%", "%", 0, 100, codes=_codes("150456", "59408-5")),
        _Q.SVO2: _run("SvO₂", "%", "%", 0, 100, codes=_codes(loinc="19224-5")),
        # the laboratory
        _Q.ARTERIAL_PO2: _bed("Arterial pO₂", *_MMHG, 0, 760),
        _Q.PRE_OXYGENATOR_PO2: _run("Pre-oxy pO₂", *_MMHG, 0, 760),
        _Q.PRE_OXYGENATOR_PCO2: _run("Pre-oxy pCO₂", *_MMHG, 0, 200),
        _Q.POST_OXYGENATOR_PO2: _run("Post-oxy pO₂", *_MMHG, 0, 760),
        _Q.POST_OXYGENATOR_PCO2: _run("Post-oxy pCO₂", *_MMHG, 0, 200),
        _Q.HAEMOGLOBIN: _bed("Hb", "g/L", "g/L", 20, 250, codes=_codes(loinc="718-7")),
        _Q.HAEMATOCRIT: _bed("Hct", "%", "%", 5, 75, codes=_codes(loinc="4544-3")),
        _Q.LACTATE: _bed("Lactate", "mmol/L", "mmol/L", 0, 40, 1, codes=_codes(loinc="32693-4")),
        _Q.PLASMA_FREE_HAEMOGLOBIN: _bed("pfHb", "mg/L", "mg/L", 0, 20_000),
        _Q.LDH: _bed("LDH", "U/L", "U/L", 0, 50_000),
        _Q.ACT: _bed("ACT", "s", "s", 40, 1_500),
        _Q.APTT: _bed("aPTT", "s", "s", 15, 300),
        _Q.APTT_RATIO: _bed("aPTT ratio", "1", "", 0.5, 12, 1),
        _Q.ANTI_XA: _bed("Anti-Xa", "[IU]/mL", "IU/mL", 0, 3, 2),
        _Q.PLATELETS: _bed("Platelets", "10*9/L", "10⁹/L", 0, 1_500, codes=_codes(loinc="777-3")),
        _Q.FIBRINOGEN: _bed("Fibrinogen", "g/L", "g/L", 0, 15, 1),
        _Q.D_DIMER: _bed("D-dimer", "mg/L", "mg/L", 0, 500, 1),
        _Q.HEPARIN_RATE: _bed("Heparin", "[IU]/h", "IU/h", 0, 10_000),
        _Q.LIMB_NIRS_LEFT: _bed("Limb NIRS L", "%", "%", 0, 100),
        _Q.LIMB_NIRS_RIGHT: _bed("Limb NIRS R", "%", "%", 0, 100),
        _Q.URINE_OUTPUT: _bed("Urine", "mL/h", "mL/h", 0, 3_000),
        # derived, never published or entered
        _Q.OXYGENATOR_PRESSURE_DROP: _run("Oxy ΔP", *_MMHG, -700, 700, signed=True, derived=True),
        _Q.OXYGENATOR_RESISTANCE: _run(
            "Oxygenator resistance", "mm[Hg].min/L", "mmHg·min/L", -700, 700, 1, signed=True, derived=True
        ),
        _Q.SPEED_YIELD: _run(
            "Flow per 1 000 rpm", "L/min/(10*3.{rev}/min)", "L/min", -10, 20, 2, signed=True, derived=True
        ),
    }
)


def spec(quantity: Quantity) -> QuantitySpec:
    """Look a quantity up; every member of `Quantity` has an entry."""
    return CATALOGUE[quantity]
