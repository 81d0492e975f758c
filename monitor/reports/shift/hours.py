"""Which hours a report is of: a shift of the unit by name and day, also when the clock is changed in it."""

from datetime import date

from monitor.core.roster.planning import stretches
from monitor.core.roster.wall import day_of
from monitor.core.unit import Unit
from shared.errors import ConfigurationError
from shared.instant import HOUR, Instant


def shift_hours(unit: Unit, name: str, day: date | None, now: Instant) -> tuple[Instant, Instant]:
    """Give begin and end of the shift that began on a day; without one, of the newest that has begun by ``now``.

    Raises:
        ConfigurationError: the unit has no such shift, or none began on that day.
    """
    names = sorted({shift.name for shift in unit.shifts})
    if name.casefold() not in {one.casefold() for one in names}:
        raise ConfigurationError(f"--shift {name}: the unit has {', '.join(names) or 'no shifts'}")
    around = now if day is None else _noon(day)
    found = [
        (one.begins, one.ends)
        for one in stretches(unit, around - 48 * HOUR, around + 48 * HOUR)
        if one.shift.name.casefold() == name.casefold()
    ]
    if day is not None:
        found = [hours for hours in found if day_of(hours[0], unit.zone) == day]
    else:
        found = [hours for hours in found if hours[0] <= now]
    if not found:
        raise ConfigurationError(f"--shift {name}: none began then; give another --date")
    return max(found)


def _noon(day: date) -> Instant:
    return (day.toordinal() - date(1970, 1, 1).toordinal()) * 24 * HOUR + 12 * HOUR
