"""What the columns of a recording are: from a map file, or from the header of the recording itself."""

import csv
from collections import Counter
from typing import Annotated

from pydantic import AfterValidator, Field, model_validator

from shared.errors import ConfigurationError
from shared.quantities import CATALOGUE, Quantity
from shared.recording_units import converter
from shared.scenario_parts import Part, Settable
from shared.toml_text import parse_toml


def _low_before_high(keep: tuple[float, float]) -> tuple[float, float]:
    if keep[0] >= keep[1]:
        raise ValueError("the low end of a keep-range is below its high end")
    return keep


class TimeColumn(Part):
    """Which column holds the time (counted from 1) and how it is written.

    ``format`` is that of ``strptime``, or ``iso`` (ISO 8601), or ``seconds`` (from any zero).
    """

    number: Annotated[int, Field(ge=1, le=1000)]
    format: Annotated[str, Field(min_length=1, max_length=60)] = "iso"


class ValueColumn(Part):
    """Which column holds which quantity, in which unit (UCUM).

    ``keep``: values outside are artefacts and left out (default: the hard range). ``off``: values that mean that
    the transducer is off. Both are in the column's own unit.
    """

    number: Annotated[int, Field(ge=1, le=1000)]
    quantity: Settable
    unit: Annotated[str, Field(max_length=40)]
    keep: Annotated[tuple[float, float], AfterValidator(_low_before_high)] | None = None
    off: tuple[float, ...] = ()

    @model_validator(mode="after")
    def _unit_known(self) -> "ValueColumn":
        converter(self.quantity, self.unit)
        return self


class RecordingMap(Part):
    """What the columns of a recording are."""

    title: Annotated[str, Field(max_length=120)] = ""
    time: TimeColumn
    column: tuple[ValueColumn, ...] = Field(min_length=1, max_length=64)
    not_measured: tuple[str, ...] = ("", "-")
    header: bool = False

    @model_validator(mode="after")
    def _columns_differ(self) -> "RecordingMap":
        numbers = [self.time.number, *(column.number for column in self.column)]
        quantities = [column.quantity for column in self.column]
        for what, found in (("column", numbers), ("quantity", quantities)):
            twice = [str(item) for item, count in Counter[object](found).items() if count > 1]
            if twice:
                raise ValueError(f"{what} {', '.join(twice)} stands twice")
        return self

    @property
    def quantities(self) -> frozenset[Quantity]:
        """Everything that the recording may hold."""
        return frozenset(column.quantity for column in self.column)


def parse_map(text: str) -> RecordingMap:
    """Read the text of a column map.

    Raises:
        ConfigurationError: names table, index, key, value and what is allowed.
    """
    return parse_toml(text, RecordingMap, "column map")


def map_of_header(header: str) -> RecordingMap:
    """Make the map of a recording whose first line names its columns.

    ``time`` is ISO 8601, ``time [s]`` seconds; every other column is ``quantity [unit]``.

    Raises:
        ConfigurationError: names the column and what is allowed.
    """
    try:
        cells = next(csv.reader([header.removeprefix("\ufeff")]), [])
    except csv.Error as error:
        raise ConfigurationError(f"the first line is no row of names: {error}") from None
    names = [name.strip() for name in cells]
    times = [n for n, name in enumerate(names, 1) if name in ("time", "time [s]")]
    if len(times) != 1:
        raise ConfigurationError('the header needs one column "time" (ISO 8601) or "time [s]"')
    form = "iso" if names[times[0] - 1] == "time" else "seconds"
    columns = [_named_column(n, name) for n, name in enumerate(names, 1) if n != times[0]]
    try:
        return RecordingMap(time=TimeColumn(number=times[0], format=form), column=tuple(columns), header=True)
    except ValueError as error:
        raise ConfigurationError(f"the header is wrong: {error}") from None


def _named_column(number: int, name: str) -> ValueColumn:
    identity, _, rest = name.partition("[")
    unit = rest.rstrip()[:-1] if rest.rstrip().endswith("]") else ""
    plain = [q for q in Quantity if not CATALOGUE[q].derived]
    allowed = ", ".join(f"{q} [{CATALOGUE[q].ucum}]" for q in plain)
    if identity.strip() not in plain:
        raise ConfigurationError(f'column {number} "{name}" is not known; allowed: time, {allowed}')
    quantity = Quantity(identity.strip())
    try:
        converter(quantity, unit)
    except ValueError as error:
        raise ConfigurationError(f'column {number} "{name}": {error}') from None
    return ValueColumn(number=number, quantity=quantity, unit=unit)
