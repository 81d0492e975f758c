"""The equipment of a demonstration: invented, as of a unit in use, with checks, charges, hours and a fault."""

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from shared.instant import HOUR, SECOND, Instant
from shared.scenario import Scenario, run_of, slots_of

#: Written at the head of it.
EQUIPMENT_HEAD = (
    "# Invented for a demonstration: no real device, no real check, and no figure to go by.\n"
    '# A real unit writes what stands on its own paper, or leaves it out: then an item reads "never checked".\n'
)
_BY = ("perfusionist-1", "charge-2")
#: The spares: kind, hours since the last check, and what else is said of each.
_SPARES: tuple[tuple[str, str, float, dict[str, Any]], ...] = (
    ("spare-console-1", "console", 3, {"profile": "broad", "charge": 100, "hours": 1840}),
    (
        "spare-console-2",
        "console",
        5,
        {"profile": "broad", "charge": 62, "hours": 3105, "quarantine": "fan is loud, waits for the workshop"},
    ),
    ("spare-console-3", "console", 4, {"profile": "small", "charge": 96, "hours": 655}),
    ("spare-drive-1", "backup_drive", 3, {"charge": 97}),
    ("spare-drive-2", "backup_drive", 3, {"charge": 71}),
    ("hand-crank", "hand_crank", 8, {}),
    ("circuit-oxy-1", "circuit", 20, {"profile": "broad", "supports": ["VA", "VV", "RA-PA-oxy"]}),
    ("circuit-oxy-2", "circuit", 20, {"profile": "small", "supports": ["VA", "VV", "RA-PA-oxy"]}),
    ("circuit-plain", "circuit", 20, {"profile": "broad", "supports": ["LA-Ao", "LV-Ao", "RA-PA"]}),
    ("pump-head-1", "pump_head", 30, {"profile": "broad"}),
    ("oxygenator-1", "oxygenator", 30, {}),
    ("tubing-1", "tubing", 30, {}),
    ("heater-1", "heater", 26, {"hours": 910}),
    ("flow-sensor-1", "flow_sensor", 9, {}),
    ("cylinder-1", "cylinder", 6, {}),
)
_PRIMED = {"circuit-oxy-1": 31}


def equipment_of(scenario: Scenario, now: Instant) -> dict[str, Any]:
    """Give ``equipment.toml`` as of a moment: a console on every run, a drive at every bed, and spares."""
    return {
        "mark": "CP",
        "wanted": {"console": 2, "backup_drive": 2, "circuit": 2},
        "check_every_h": {
            **dict.fromkeys(("console", "backup_drive", "hand_crank", "cylinder"), 12),
            **dict.fromkeys(("circuit", "heater", "flow_sensor"), 24),
        },
        "charged_from": {"console": 90, "backup_drive": 90},
        "age_notice_h": {"pump_head": 336, "oxygenator": 336, "tubing": 336, "circuit": 720},
        "item": [*_at_beds(scenario, now), *_spares(now)],
    }


def ago(now: Instant, hours: float) -> str:
    """Write the moment so many hours before another, as TOML and JSON take it."""
    return datetime.fromtimestamp(round(now - hours * HOUR) // SECOND, UTC).isoformat()


def _at_beds(scenario: Scenario, now: Instant) -> Iterator[dict[str, Any]]:
    """The fourth bed's drive was passed over at the last round: its check is due."""
    for number, bed in enumerate(scenario.beds):
        checked = _checked(now, 2 + number % 4 * 1.5, number)
        for run in (run_of(scenario, bed, slot) for slot in slots_of(scenario, bed)):
            item = {"id": f"{bed}-console-{run.slot}", "kind": "console", "bed": bed, "slot": run.slot}
            yield item | {"profile": run.profile, "charge": 100, "hours": 640 + 171 * number} | checked
        late = _checked(now, 13.5, number) if number == 3 else checked
        yield {"id": f"{bed}-drive", "kind": "backup_drive", "bed": bed, "charge": 98 - number % 5} | late


def _spares(now: Instant) -> Iterator[dict[str, Any]]:
    for number, (name, kind, hours, more) in enumerate(_SPARES):
        primed = {"primed_at": ago(now, _PRIMED[name])} if name in _PRIMED else {}
        item = {"id": name, "kind": kind, "place": "Equipment room"}
        yield item | more | primed | _checked(now, hours, number)


def _checked(now: Instant, hours: float, number: int) -> dict[str, str]:
    return {"checked_at": ago(now, hours), "checked_by": _BY[number % len(_BY)]}
