"""Mains and battery packs: what is left, and what the console says is left."""

from shared.circuit.faults import Levels
from shared.circuit.parameters import CircuitParameters
from shared.physics.battery import runtime_hours

_LONGEST_SHOWN = 1440.0


def on_mains(levels: Levels) -> bool:
    """Mains are there unless they are lost by half or more."""
    return levels.get("mains_lost", 0.0) < 0.5


def packs_in(params: CircuitParameters, levels: Levels) -> int:
    """Packs in place; any severity takes out at least one, full severity all."""
    share = levels.get("battery_pack_out", 0.0)
    packs = params.profile.packs
    return packs if share <= 0.0 else packs - max(1, round(share * packs))


def charge_after(charge: float, params: CircuitParameters, levels: Levels, speed: float, seconds: float) -> float:
    """Charge in % after ``seconds`` at ``speed`` rpm: falling with the load, or rising on mains."""
    profile = params.profile
    if on_mains(levels):
        return min(100.0, charge + 100.0 * seconds / (3600.0 * profile.charge_hours))
    energy = packs_in(params, levels) * profile.pack_energy * params.battery_health
    if energy <= 0.0:
        return 0.0
    hours = runtime_hours(energy, profile.usable_share, profile.battery_load(speed))
    return max(0.0, charge - 100.0 * seconds / (3600.0 * hours))


def shown_minutes(charge: float, params: CircuitParameters, levels: Levels, speed: float) -> float:
    """Minutes on the display: the console takes its packs for new, and may be wrong besides."""
    profile = params.profile
    energy = packs_in(params, levels) * profile.pack_energy * charge / 100.0
    hours = runtime_hours(energy, profile.usable_share, profile.battery_load(speed))
    return min(_LONGEST_SHOWN, 60.0 * hours * params.shown_minutes_factor)


def powered(charge: float, params: CircuitParameters, levels: Levels) -> bool:
    """Tell whether anything drives the motor."""
    return on_mains(levels) or (charge > 0.0 and packs_in(params, levels) > 0)
