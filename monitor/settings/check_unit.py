"""What is wrong between the tables of ``unit.toml``: people who are not there, targets of what is not fitted."""

import re
from collections.abc import Iterable, Iterator
from typing import Any, TypeGuard
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from monitor.core.grades import Role
from monitor.core.laboratory import LABORATORY
from monitor.settings.check_pages import check_pages
from shared.quantities import CATALOGUE, Quantity
from shared.support import DEFAULT_SENSORS, HEIGHTS, WEIGHTS, WITH_OXYGENATOR, Support, size_fault
from shared.written.faults import Fault, did_you_mean
from shared.written.lines import KeyPath
from shared.written.reading import Source
from shared.written.tables import is_number, list_in, named_twice, one_of, table_at, tables_at, words_in

_NURSES = (Role.BEDSIDE_NURSE, Role.CHARGE_NURSE)
_RUNGS = {
    "deputy": _NURSES,
    "charge": (Role.CHARGE_NURSE,),
    "perfusionist": (Role.PERFUSIONIST,),
    "intensivist": (Role.INTENSIVIST,),
    "surgeon": (Role.SURGEON,),
}
_SENSOR_KEYS = ("sensors", "fitted_also", "not_fitted")
#: Only beside an oxygenator.
_OF_OXYGENATOR = frozenset({Quantity.PRE_OXYGENATOR_PRESSURE, Quantity.SWEEP_GAS_FLOW, Quantity.FDO2})
_CLOCK = re.compile(r"([01][0-9]|2[0-3]):([0-5][0-9])")
_ADDRESS = re.compile(r"tcp://[^\s:/]+:(\d{1,5})")


def check_unit(source: Source, profiles: Iterable[str] | None = None) -> Iterator[Fault]:
    """Find every fault between tables; ``profiles``: the pump profiles that there are, ``None``: not known here."""
    yield from named_twice(source, ("bed",), "label", "this bed")
    yield from named_twice(source, ("person",), "name", "this person")
    yield from _people(source)
    yield from _zone(source)
    yield from _shifts_apart(source)
    names = None if profiles is None else sorted(profiles)
    for place, _ in tables_at(source, ("bed",)):
        yield from _runs(source, (*place, "run"), names)
    yield from _laboratory(source)
    yield from _endpoints(source)
    yield from check_pages(source)


def _people(source: Source) -> Iterator[Fault]:
    roles = {p["name"]: p.get("role") for _, p in tables_at(source, ("person",)) if isinstance(p.get("name"), str)}
    for place, bed in tables_at(source, ("bed",)):
        yield from _stands(source, (*place, "nurse"), bed.get("nurse"), roles, _NURSES)
    yield from _planned(source, ("roster",), table_at(source, ("roster",)), roles)
    yield from named_twice(source, ("shift",), "name", "this shift")
    for place, shift in tables_at(source, ("shift",)):
        yield from _planned(source, place, shift, roles)


def _planned(source: Source, place: KeyPath, table: dict[str, Any], roles: dict[str, Any]) -> Iterator[Fault]:
    """Who stands, or is planned, on each post must be among the people and fit the post."""
    labels = [str(bed.get("label")) for _, bed in tables_at(source, ("bed",))]
    nurses = table.get("nurses")
    for label, nurse in nurses.items() if isinstance(nurses, dict) else ():
        path: KeyPath = (*place, "nurses", label)
        if label not in labels:
            wrong = f"there is no bed {label}{did_you_mean(label, labels)}"
            yield source.fault(path, wrong, ", ".join(labels))
        yield from _stands(source, path, nurse, roles, _NURSES)
    for rung, fit in _RUNGS.items():
        yield from _stands(source, (*place, rung), table.get(rung), roles, fit)


def _zone(source: Source) -> Iterable[Fault]:
    name = source.data.get("time_zone")
    if not isinstance(name, str):
        return
    try:
        ZoneInfo(name)
    except (ValueError, OSError, ZoneInfoNotFoundError):
        allowed = "a name of the time zone database, such as UTC or Area/City"
        yield source.fault(("time_zone",), "there is no such time zone", allowed)


def _shifts_apart(source: Source) -> Iterator[Fault]:
    """Two shifts that plan one post at one time would plan it twice."""
    taken: list[tuple[str, tuple[int, int], str]] = []
    for place, shift in tables_at(source, ("shift",)):
        begins, ends = _minute(shift.get("begins")), _minute(shift.get("ends"))
        if begins is None or ends is None:
            continue
        spans = [(begins, ends)] if begins < ends else [(begins, 1440), (0, ends)]
        nurses = shift.get("nurses")
        posts = [key for key in _RUNGS if key in shift]
        posts += [f"nurses.{bed}" for bed in nurses] if isinstance(nurses, dict) else []
        for post in posts:
            for span in spans:
                other = next((name for key, at, name in taken if key == post and _meet(at, span)), None)
                if other is not None:
                    wrong = f"{other} plans this post at the same time"
                    yield source.fault((*place, *post.split(".", 1)), wrong, "shifts that do not overlap on a post")
                    break
        taken += [(post, span, str(shift.get("name"))) for post in posts for span in spans]


def _meet(one: tuple[int, int], other: tuple[int, int]) -> bool:
    return one[0] < other[1] and other[0] < one[1]


def _minute(written: object) -> int | None:
    """Give minutes after midnight of ``hh:mm``, or nothing."""
    found = _CLOCK.fullmatch(written) if isinstance(written, str) else None
    return 60 * int(found[1]) + int(found[2]) if found else None


def _stands(
    source: Source, path: KeyPath, name: object, roles: dict[str, Any], fit: tuple[Role, ...]
) -> Iterable[Fault]:
    """A name must be among the people, with a role that may stand there; an empty one means nobody."""
    if not isinstance(name, str) or not name:
        return
    able = sorted(person for person, role in roles.items() if role in fit)
    allowed = ", ".join(able) or f"somebody whose role is {' or '.join(fit)}"
    if name not in roles:
        yield source.fault(path, f"is not among the people{did_you_mean(name, able)}", allowed)
    elif roles[name] not in fit and one_of(Role, roles[name]):
        yield source.fault(path, f"a {roles[name]} cannot stand here", allowed)


def _runs(source: Source, path: KeyPath, profiles: list[str] | None) -> Iterator[Fault]:
    slots: list[object] = []
    for place, run in tables_at(source, path):
        slot = run.get("slot", 1)
        if slot in slots:
            yield source.fault((*place, "slot"), "two runs stand in the same slot", "give the second run slot = 2")
        slots.append(slot)
        profile = run.get("profile", "broad")
        if profiles is not None and isinstance(profile, str) and profile not in profiles:
            wrong = f"there is no such pump in pumps/{did_you_mean(profile, profiles)}"
            yield source.fault((*place, "profile"), wrong, ", ".join(profiles), profile)
        yield from _size(source, place, run)
        yield from _sensors(source, place, run)
        yield from _targets(source, place, run)


def _size(source: Source, place: KeyPath, run: dict[str, Any]) -> Iterable[Fault]:
    weight, height = run.get("weight"), run.get("height")
    if _within(weight, WEIGHTS) and _within(height, HEIGHTS):
        wrong = size_fault(weight, height)
        if wrong:
            yield source.fault((*place, "weight"), wrong, "weight in kg, height in cm")


def _within(value: object, span: tuple[float, float]) -> TypeGuard[float]:
    return is_number(value) and span[0] <= value <= span[1]


def _laboratory(source: Source) -> Iterator[Fault]:
    """What is measured at the bed all the time is never drawn, and no value beyond its range is ever read."""
    drawn = ", ".join(quantity.value for quantity in LABORATORY)
    for key in ("every_h", "usable_h", "notice_above", "notice_below"):
        table = table_at(source, ("laboratory", key))
        for name, value in table.items():
            if not one_of(Quantity, name):
                continue
            spec = CATALOGUE[Quantity(name)]
            path = ("laboratory", key, name)
            if Quantity(name) not in LABORATORY:
                yield source.fault(path, f"{spec.label} is no laboratory value", drawn)
            elif key.startswith("notice") and is_number(value) and not spec.admits(value):
                allowed = f"{spec.low:g} to {spec.high:g} {spec.unit}"
                yield source.fault(path, f"{spec.label} can never be there", allowed)


def _sensors(source: Source, place: KeyPath, run: dict[str, Any]) -> Iterable[Fault]:
    oxygenator = not one_of(Support, run.get("support")) or run["support"] in WITH_OXYGENATOR
    for key in _SENSOR_KEYS:
        for number, name in enumerate(list_in(run, key)):
            if not one_of(Quantity, name):
                continue
            if CATALOGUE[Quantity(name)].derived:
                yield source.fault((*place, key, number), "this is computed, never fitted", "what is measured")
            elif key != "not_fitted" and not oxygenator and name in _OF_OXYGENATOR:
                wrong = f"{run['support']} has no oxygenator, so this cannot be fitted"
                yield source.fault((*place, key, number), wrong, "sensors of pump and patient")


def _targets(source: Source, place: KeyPath, run: dict[str, Any]) -> Iterable[Fault]:
    targets = run.get("targets")
    if not isinstance(targets, dict) or not one_of(Support, run.get("support")):
        return
    usual = DEFAULT_SENSORS[Support(run["support"])]
    named: set[str] = set(words_in(run, "sensors")) if "sensors" in run else {q.value for q in usual}
    fitted = (named | set(words_in(run, "fitted_also"))) - set(words_in(run, "not_fitted"))
    for name, value in targets.items():
        if not one_of(Quantity, name):
            continue
        path = (*place, "targets", name)
        spec = CATALOGUE[Quantity(name)]
        if name not in fitted:
            yield source.fault(path, "is not fitted on this run", ", ".join(sorted(fitted)))
        elif is_number(value) and not spec.admits(value):
            yield source.fault(
                path, f"{spec.label} can never be there", f"{spec.low:g} to {spec.high:g} {spec.unit}"
            )


def _endpoints(source: Source) -> Iterator[Fault]:
    seen: set[str] = set()
    for key, address in table_at(source, ("endpoints",)).items():
        if not isinstance(address, str):
            continue
        found = _ADDRESS.fullmatch(address)
        if not found or not 1 <= int(found[1]) <= 65_535:
            yield source.fault(("endpoints", key), "this is no address", "tcp://host:port, port 1 to 65535")
        elif address in seen:
            yield source.fault(("endpoints", key), "two endpoints share this address", "four different ones")
        seen.add(address)
