"""The scenario: a timed course of beds, from the text of its file. It drives demo, tests and rehearsal."""

from datetime import UTC, datetime, tzinfo
from typing import Annotated

from pydantic import Field, model_validator

from shared.messages import BedLabel
from shared.quantities import CATALOGUE, Quantity, Scope
from shared.scenario_acts import Act
from shared.scenario_parts import (
    Entry,
    Fault,
    FeedKind,
    LinkCut,
    Part,
    Ramp,
    Roster,
    Settable,
    Slot,
    Start,
)
from shared.scenario_rounds import Mend, Round, ShiftPlan
from shared.support import DEFAULT_SENSORS, RunDescription, Support, describe_run
from shared.toml_text import parse_toml

#: What stands at a knob of a simulated circuit: only these have a start there.
KNOBS = frozenset({Quantity.PUMP_SPEED, Quantity.SWEEP_GAS_FLOW, Quantity.FDO2})

#: L/min: what is ordered for the base bed, whatever a bed starts with.
BASE_TARGET_FLOW = 4.2


class Scenario(Part):
    """One scenario file, checked. Times are seconds from the start."""

    title: Annotated[str, Field(min_length=1, max_length=120)]
    minutes: Annotated[float, Field(gt=0, le=7 * 24 * 60)]
    beds: tuple[BedLabel, ...] = Field(min_length=1, max_length=64)
    noise: bool = False
    seed: int = 7
    feed: FeedKind = "scripted"
    support: Support = Support.VA
    profile: Annotated[str, Field(min_length=1, max_length=40)] = "broad"
    sensors: frozenset[Settable] | None = None
    target_flow: Annotated[float, Field(gt=0, le=10)] = BASE_TARGET_FLOW
    start: tuple[Start, ...] = ()
    ramp: tuple[Ramp, ...] = ()
    fault: tuple[Fault, ...] = ()
    entry: tuple[Entry, ...] = ()
    round: tuple[Round, ...] = ()
    mend: tuple[Mend, ...] = ()
    shift: tuple[ShiftPlan, ...] = ()
    act: tuple[Act, ...] = ()
    link: tuple[LinkCut, ...] = ()
    roster: Roster = Roster()

    @model_validator(mode="after")
    def _hangs_together(self) -> "Scenario":
        faults = [*self._bed_faults(), *self._time_faults(), *self._feed_faults(), *self._sensor_faults()]
        faults += self._round_faults()
        if faults:
            raise ValueError("\n  ".join(faults))
        return self

    @property
    def seconds(self) -> float:
        """Length of the course."""
        return self.minutes * 60

    def _bed_faults(self) -> list[str]:
        faults = []
        if len(set(self.beds)) != len(self.beds):
            faults.append('key "beds": a bed is named twice')
        named: list[tuple[str, str | None]] = []
        for table in ("start", "ramp", "fault", "entry", "round", "act"):
            parts = getattr(self, table)
            named += [(f'[[{table}]] number {n}, key "bed"', part.bed) for n, part in enumerate(parts, 1)]
        for n, cut in enumerate(self.link, 1):
            named += [(f'[[link]] number {n}, key "beds"', bed) for bed in cut.beds if cut.beds != "all"]
        named += [(f'[[round]] number {n}, key "read_off"', one.read_off) for n, one in enumerate(self.round, 1)]
        named += [(f'[[mend]] number {n}, key "move_to"', one.move_to) for n, one in enumerate(self.mend, 1)]
        named += [(f'[[shift]] number {n}, key "nurses"', bed)
                  for n, one in enumerate(self.shift, 1) for bed in one.nurses]  # fmt: skip
        named += [('[roster], key "nurses"', bed) for bed in self.roster.nurses]
        allowed = ", ".join(self.beds)
        faults += [f'{place} = "{bed}": no such bed; allowed: {allowed}' for place, bed in named
                   if bed is not None and bed not in self.beds]  # fmt: skip
        places = [(start.bed, start.slot) for start in self.start]
        faults += [f"[[start]]: bed {bed} slot {slot} stands twice" for bed, slot in sorted(set(places))
                   if places.count((bed, slot)) > 1]  # fmt: skip
        return faults

    def _time_faults(self) -> list[str]:
        late = []
        for table, key in (
            ("ramp", "begins"),
            ("fault", "at"),
            ("entry", "at"),
            ("round", "read_at"),
            ("mend", "at"),
            ("act", "at"),
            ("link", "down"),
        ):
            for n, part in enumerate(getattr(self, table), 1):
                if getattr(part, key) > self.seconds:
                    late.append(f"[[{table}]] number {n}: begins after the end ({self.minutes:g} min)")
        return late

    def _feed_faults(self) -> list[str]:
        faults = []
        for n, fault in enumerate(self.fault, 1):
            if not has_circuit(self, fault.bed):
                faults.append(f'[[fault]] number {n}, key "kind" = "{fault.kind}": faults need feed = "circuit", '
                              f'bed {fault.bed} is "{feed_of(self, fault.bed)}"')  # fmt: skip
        for n, ramp in enumerate(self.ramp, 1):
            if feed_of(self, ramp.bed) == "circuit":
                faults.append(f'[[ramp]] number {n}, key "bed" = "{ramp.bed}": its readings follow from the '
                              'circuit; use a [[fault]], or an act "order" that turns a knob')  # fmt: skip
        knobs = ", ".join(sorted(KNOBS))
        for n, start in enumerate(self.start, 1):
            if has_circuit(self, start.bed) and (stray := sorted(start.values.keys() - KNOBS)):
                faults.append(f"[[start]] number {n}: {', '.join(stray)} follows from the circuit at {start.bed}; "
                              f"allowed: {knobs}")  # fmt: skip
        return faults

    def _sensor_faults(self) -> list[str]:
        faults = []
        for n, ramp in enumerate(self.ramp, 1):
            given = sensors_given(self, ramp.bed, ramp.slot)
            if given is not None and ramp.quantity not in given:
                faults.append(f'[[ramp]] number {n}, key "quantity" = "{ramp.quantity}": not among the sensors of '
                              f"{ramp.bed}; allowed: {', '.join(sorted(given))}")  # fmt: skip
        return faults

    def _round_faults(self) -> list[str]:
        faults = [f'[[round]] number {n}, key "bed" = "{one.bed}": a bed with rounds is feed = "entered"'
                  for n, one in enumerate(self.round, 1) if feed_of(self, one.bed) != "entered"]  # fmt: skip
        keys = [one.key for one in self.round if one.key]
        faults += [f'[[round]]: the key "{key}" stands twice' for key in sorted(set(keys)) if keys.count(key) > 1]
        faults += [f'[[mend]] number {n}, key "of" = "{one.of}": no [[round]] has this key'
                   for n, one in enumerate(self.mend, 1) if one.of not in keys]  # fmt: skip
        return faults


def parse_scenario(text: str) -> Scenario:
    """Read the text of a scenario file.

    Raises:
        ConfigurationError: names table, index, key, value and what is allowed, all faults at once.
    """
    return parse_toml(text, Scenario, "scenario")


def start_of(scenario: Scenario, bed: str, slot: int = 1) -> Start:
    """What the file says of a bed's start; an empty start where it says nothing."""
    for start in scenario.start:
        if (start.bed, start.slot) == (bed, slot):
            return start
    return Start(bed=bed, slot=slot)


def feed_of(scenario: Scenario, bed: str) -> FeedKind:
    """How the readings of a bed come about."""
    return start_of(scenario, bed).feed or scenario.feed


def has_circuit(scenario: Scenario, bed: str) -> bool:
    """Tell whether a bed's numbers come from the simulated circuit: of a console, or read off it on rounds."""
    return feed_of(scenario, bed) == "circuit" or any(one.bed == bed for one in scenario.round)


def slots_of(scenario: Scenario, bed: str) -> tuple[Slot, ...]:
    """Slots that hold a pump: 1, and 2 where a ``[[start]]`` describes a second pump."""
    second = any(start.bed == bed and start.slot == 2 for start in scenario.start)
    return (1, 2) if second else (1,)


def support_of(scenario: Scenario, bed: str, slot: int = 1) -> Support:
    """Support type of the pump in a slot."""
    return start_of(scenario, bed, slot).support or scenario.support


def sensors_given(scenario: Scenario, bed: str, slot: int = 1) -> frozenset[Quantity] | None:
    """Fitted sensors where the file names them, else ``None``."""
    own = start_of(scenario, bed, slot).sensors
    return scenario.sensors if own is None else own


def run_of(scenario: Scenario, bed: str, slot: int = 1, started_at: int | None = None) -> RunDescription:
    """Describe the support run of a bed as a feed declares it; ``started_at`` in ms since 1970 UTC.

    Without named sensors the usual ones of the type are fitted, and any other that a start or ramp sets.
    """
    start = start_of(scenario, bed, slot)
    support = support_of(scenario, bed, slot)
    sensors = sensors_given(scenario, bed, slot)
    if sensors is None:
        ramped = {ramp.quantity for ramp in scenario.ramp if (ramp.bed, ramp.slot) == (bed, slot)}
        sensors = DEFAULT_SENSORS[support].union(start.values, ramped)
    if slot == 2:  # the patient is read once, with the first pump
        sensors = frozenset(q for q in sensors if CATALOGUE[q].scope is Scope.RUN)
    return describe_run(
        support,
        f"{bed}-run-{slot}",
        slot,
        start.profile or scenario.profile,
        sensors,
        started_at,
        weight=start.weight,
        height=start.height,
    )


def target_flow(scenario: Scenario, bed: str, slot: int = 1) -> float:
    """Ordered flow of a bed's pump at the start, L/min."""
    own = start_of(scenario, bed, slot).target_flow
    return scenario.target_flow if own is None else own


def nurse_of(scenario: Scenario, bed: str) -> str:
    """Who stands on rung 1 for a bed at the start; empty where rung 1 is uncovered."""
    if 1 in scenario.roster.uncovered:
        return ""
    return scenario.roster.nurses.get(bed, f"nurse-{bed}")


def holder_of(scenario: Scenario, rung: int) -> str:
    """Who stands on rungs 2 to 5 at the start; empty where the rung is uncovered."""
    return scenario.roster.on(rung)


def wall_clock(begin: int, seconds: float, zone: tzinfo = UTC) -> str:
    """Give what a clock on the wall shows so many seconds after ``begin`` (ms since 1970): ``HH:MM``."""
    return f"{datetime.fromtimestamp(begin // 1_000 + int(seconds), zone):%H:%M}"


def run_begun(act: Act, number: int) -> RunDescription | None:
    """Describe the run that act ``number``, a "run_start", begins; ``None`` where it names no support."""
    if act.bed is None or act.support is None:
        return None
    return describe_run(act.support, f"{act.bed}-run-{number}", act.slot or 1, act.profile or "broad")
