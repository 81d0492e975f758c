"""The stage: the unit that a scenario or a recording plays in, made from the shipped limits and ladder."""

from collections.abc import Iterable, Mapping

from monitor.core.grades import Role, Rung
from monitor.core.ladder_table import LadderTable
from monitor.core.patterns import Patterns
from monitor.core.rules import FrozenRule, Limits
from monitor.core.unit import BedSettings, Configuration, Person, Roster, RunSettings, Shift, Unit
from shared.circuit import SHIPPED_PROFILES, PumpProfile
from shared.entry.round_table import RoundTable
from shared.instant import Instant
from shared.quantities import Quantity
from shared.scenario import Scenario, feed_of, holder_of, nurse_of, run_of, slots_of, target_flow, wall_clock
from shared.scenario_rounds import ShiftPlan
from shared.support import RunDescription

#: No hints; no rounds that are due.
NO_PATTERNS, NO_ROUNDS = Patterns(), RoundTable()

_RUNG_ROLES = {
    Rung.CHARGE: Role.CHARGE_NURSE,
    Rung.PERFUSIONIST: Role.PERFUSIONIST,
    Rung.INTENSIVIST: Role.INTENSIVIST,
    Rung.SURGEON: Role.SURGEON,
}


def stage_of(
    scenario: Scenario,
    limits: Limits,
    ladder: LadderTable,
    pumps: Mapping[str, PumpProfile] = SHIPPED_PROFILES,
    patterns: Patterns = NO_PATTERNS,
    rounds: RoundTable = NO_ROUNDS,
    begin: Instant = 0,
) -> Configuration:
    """Give the configuration of a scenario: its beds, runs, targets and roster under the given limits.

    ``begin``: its start, from which the clock on the wall tells its shifts; ``rounds``: which are due, and when.
    Identical readings prove nothing where there is no noise: the frozen rule is off there.
    """
    beds = tuple(_bed(scenario, bed) for bed in scenario.beds)
    nurses = {bed: nurse for bed in scenario.beds if (nurse := nurse_of(scenario, bed))}
    rungs = {rung: holder_of(scenario, rung) or None for rung in _RUNG_ROLES}
    roster = Roster(
        nurses=nurses,
        deputy=scenario.roster.deputy or None,
        charge=rungs[Rung.CHARGE],
        perfusionist=rungs[Rung.PERFUSIONIST],
        intensivist=rungs[Rung.INTENSIVIST],
        surgeon=rungs[Rung.SURGEON],
    )
    if not scenario.noise:
        limits = limits.model_copy(
            update={"rules": tuple(rule for rule in limits.rules if not isinstance(rule, FrozenRule))}
        )
    unit = Unit(
        name="Rehearsal",
        beds=beds,
        people=_people(scenario, nurses),
        roster=roster,
        shifts=tuple(_shift(one, begin) for one in scenario.shift),
    )
    return Configuration(
        unit=unit, limits=limits, ladder=ladder, pumps=dict(pumps), patterns=patterns, rounds=rounds
    )


def _shift(one: ShiftPlan, begin: Instant) -> Shift:
    said = one.model_dump(exclude={"begins", "ends"})
    return Shift(begins=wall_clock(begin, one.begins), ends=wall_clock(begin, one.ends), **said)


def stage_for_recording(
    bed: str,
    run: RunDescription,
    targets: Mapping[Quantity, float],
    limits: Limits,
    ladder: LadderTable,
    patterns: Patterns = NO_PATTERNS,
) -> Configuration:
    """Give the configuration of one bed that a recording plays in, with the usual roster."""
    people = [_person(f"nurse-{bed}", Role.BEDSIDE_NURSE), *_rung_people()]
    roster = Roster(
        nurses={bed: f"nurse-{bed}"},
        charge="charge",
        perfusionist="perfusionist",
        intensivist="intensivist",
        surgeon="surgeon",
    )
    settings = BedSettings(label=bed, runs=(RunSettings(description=run, targets=dict(targets)),))
    unit = Unit(name="Rehearsal", beds=(settings,), people=tuple(people), roster=roster)
    pumps = dict(SHIPPED_PROFILES)
    return Configuration(unit=unit, limits=limits, ladder=ladder, pumps=pumps, patterns=patterns)


def _bed(scenario: Scenario, bed: str) -> BedSettings:
    runs = tuple(
        RunSettings(
            description=run_of(scenario, bed, slot),
            targets={Quantity.PUMP_FLOW: target_flow(scenario, bed, slot)},
        )
        for slot in slots_of(scenario, bed)
    )
    return BedSettings(label=bed, runs=runs, entered_by_hand=feed_of(scenario, bed) == "entered")


def _people(scenario: Scenario, nurses: Mapping[str, str]) -> tuple[Person, ...]:
    named: dict[str, Person] = {}
    for rung, role in _RUNG_ROLES.items():
        planned = (getattr(one, role_name(rung)) for one in scenario.shift)
        for name in (scenario.roster.on(rung) or role_name(rung), *planned):
            if name:
                named[name] = _person(name, role)
    bedside: Iterable[str] = [
        *nurses.values(),
        *(nurse_of(scenario, bed) or f"nurse-{bed}" for bed in scenario.beds),
    ]
    bedside = [*bedside, *(name for one in scenario.shift for name in (*one.nurses.values(), one.deputy) if name)]
    if scenario.roster.deputy:
        bedside = [*bedside, scenario.roster.deputy]
    acting = [act.by for act in scenario.act] + [act.person or "" for act in scenario.act]
    acting += [name or "" for act in scenario.act for name in (act.told_to, act.second, act.leader)]
    for name in [*bedside, *(name for name in acting if name)]:
        named.setdefault(name, _person(name, Role.BEDSIDE_NURSE))
    return tuple(named.values())


def _rung_people() -> list[Person]:
    return [_person(role_name(rung), role) for rung, role in _RUNG_ROLES.items()]


def role_name(rung: Rung) -> str:
    """Give the scenario's name for who stands on a rung."""
    return {2: "charge", 3: "perfusionist", 4: "intensivist", 5: "surgeon"}[rung]


def _person(name: str, role: Role) -> Person:
    return Person(name=name, label=name[:24], role=role, in_unit=role is not Role.PERFUSIONIST)
