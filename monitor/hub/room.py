"""The four sockets of a hub by what they are for."""

import enum


class Room(enum.StrEnum):
    """What comes and goes there."""

    INGEST = "ingest"
    LINK = "link"
    PUBLISH = "publish"
    COMMANDS = "commands"
