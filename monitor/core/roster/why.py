"""Why nobody will stand on a post."""

from enum import StrEnum


class Why(StrEnum):
    """Why nobody will stand there."""

    EMPTY = "empty"
    NOT_PLANNED = "not_planned"
    UNREACHABLE = "unreachable"
