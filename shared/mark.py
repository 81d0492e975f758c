"""Where a number of a configuration comes from; shown wherever the number is."""

from enum import StrEnum


class Mark(StrEnum):
    """Where a number comes from: published, common practice, our own default, or a unit's own."""

    PUBLISHED = "M"
    COMMON_PRACTICE = "CP"
    DEFAULT = "TD"
    UNIT = "unit"
