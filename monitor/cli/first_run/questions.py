"""The six questions of a first start, and what counts as an answer.

An answer is a line of text. What cannot be is said in words at once, so that a folder is only written from answers
that its files allow.
"""

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from zoneinfo import ZoneInfo, ZoneInfoNotFoundError

from pydantic import TypeAdapter, ValidationError

from monitor.core.pages.server import Telephone
from monitor.core.unit import Wall
from shared.messages import BedLabel

#: Who has a telephone, in the order in which they are asked for.
PHONES = ("desk", "charge nurse", "perfusionist", "intensivist", "surgeon")
#: Nobody stands there, or no number is known.
NONE = "-"
_MOST_BEDS = 64
_NAME_LENGTH = 40
_LABEL: TypeAdapter[str] = TypeAdapter(BedLabel)
_PHONE: TypeAdapter[str] = TypeAdapter(Telephone)
_WALL: TypeAdapter[str] = TypeAdapter(Wall)


@dataclass(frozen=True, slots=True)
class Answers:
    """What a unit's first files are made of.

    Attributes:
        beds: labels, in the order in which they stand.
        by_hand: those of them that no cable reads.
        phones: of `PHONES` those that have a number; a rung without one has nobody.
        day, night: when these shifts begin, by the clock on the wall.
        zone: name of the time zone database.
    """

    name: str
    beds: tuple[str, ...]
    by_hand: frozenset[str]
    phones: dict[str, str]
    day: str
    night: str
    zone: str


@dataclass(frozen=True, slots=True)
class Question:
    """A question: what it asks, how an answer looks, and what an empty line means.

    ``take`` gives the parts of `Answers` that an answer makes, from it and the parts before; it raises ValueError
    with words for whoever typed.
    """

    asks: str
    example: str
    usual: str
    take: Callable[[str, dict[str, Any]], dict[str, Any]]


def questions(zone: str) -> tuple[Question, ...]:
    """Give the six, in their order; ``zone``: this machine's, as the usual answer."""
    return (
        Question("What is the unit called?", "as it stands on the board", "Support unit", _name),
        Question("Which beds, as they stand?", "labels: B1, B2, B4; or how many: 8 is B1 to B8", "8", _beds),
        Question("Which of them have no cable to here?", "labels, all, or none: typed by hand", "none", _by_hand),
        Question(
            "Telephones: " + ", ".join(PHONES) + "?",
            f"five numbers with commas; {NONE} where there is none, and nobody is called",
            ", ".join([NONE] * len(PHONES)),
            _phones,
        ),
        Question("When do the day and the night shift begin?", "by the clock on the wall", "07:00, 19:00", _shifts),
        Question("Which time zone has that clock?", "Area/City, or UTC", zone, _zone),
    )


def _name(said: str, _: dict[str, Any]) -> dict[str, Any]:
    if len(said) > _NAME_LENGTH or not said.isprintable():
        raise ValueError(f"at most {_NAME_LENGTH} letters")
    return {"name": said}


def _beds(said: str, _: dict[str, Any]) -> dict[str, Any]:
    parts = _parts(said)
    if len(parts) == 1 and parts[0].isdecimal():
        if not 1 <= int(parts[0]) <= _MOST_BEDS:
            raise ValueError(f"{parts[0]} beds: allowed 1 to {_MOST_BEDS}")
        return {"beds": tuple(f"B{number}" for number in range(1, int(parts[0]) + 1))}
    if not parts or len(parts) > _MOST_BEDS:
        raise ValueError(f"allowed 1 to {_MOST_BEDS} beds")
    for label in parts:
        _held(_LABEL, label, f"{label}: a label has at most 8 letters, digits or hyphens")
    twice = next((label for label in parts if parts.count(label) > 1), None)
    if twice is not None:
        raise ValueError(f"{twice} stands there twice")
    return {"beds": tuple(parts)}


def _by_hand(said: str, before: dict[str, Any]) -> dict[str, Any]:
    beds: tuple[str, ...] = before["beds"]
    if said.casefold() in ("all", "none"):
        return {"by_hand": frozenset(beds if said.casefold() == "all" else ())}
    parts = _parts(said)
    strange = next((label for label in parts if label not in beds), None)
    if strange is not None:
        raise ValueError(f"{strange} is none of the beds {', '.join(beds)}")
    return {"by_hand": frozenset(parts)}


def _phones(said: str, _: dict[str, Any]) -> dict[str, Any]:
    parts = [part.strip() for part in said.split(",")]
    if len(parts) != len(PHONES):
        raise ValueError(f"{len(parts)} numbers: needed are {len(PHONES)}, with {NONE} where there is none")
    for part in parts:
        _held(_PHONE, part, f"{part}: a number has digits, spaces and + - * # / ( ), at most 24 of them")
    return {"phones": {who: part for who, part in zip(PHONES, parts, strict=True) if part not in ("", NONE)}}


def _shifts(said: str, _: dict[str, Any]) -> dict[str, Any]:
    parts = _parts(said)
    if len(parts) != 2:
        raise ValueError("two times are needed, as 07:00, 19:00")
    for part in parts:
        _held(_WALL, part, f"{part} is no time: write it as 07:00")
    if parts[0] == parts[1]:
        raise ValueError("the two shifts begin at the same time")
    return {"day": parts[0], "night": parts[1]}


def _zone(said: str, _: dict[str, Any]) -> dict[str, Any]:
    try:
        ZoneInfo(said)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError(f"there is no time zone {said}: a name such as UTC or Area/City") from None
    return {"zone": said}


def _parts(said: str) -> list[str]:
    return [part for part in re.split(r"[,\s]+", said) if part]


def _held(adapter: TypeAdapter[str], text: str, else_said: str) -> None:
    try:
        adapter.validate_python(text)
    except ValidationError:
        raise ValueError(else_said) from None
