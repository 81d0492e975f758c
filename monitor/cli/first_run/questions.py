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
from shared.language.saying import say, to_say
from shared.messages import BedLabel

#: Who has a telephone, in the order in which they are asked for.
PHONES = (
    to_say("desk"), to_say("charge nurse"), to_say("perfusionist"), to_say("intensivist"), to_say("surgeon"),
)  # fmt: skip
#: Nobody stands there, or no number is known.
NONE = "-"
_MOST_BEDS = 64
_NAME_LENGTH = 40
#: Answers that stand within no sentence.
ALL, YES = to_say("all"), (to_say("y"), to_say("yes"))
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
        Question(say("What is the unit called?"), say("as it stands on the board"), say("Support unit"), _name),
        Question(
            say("Which beds, as they stand?"), say("labels: B1, B2, B4; or how many: 8 is B1 to B8"), "8", _beds
        ),
        Question(
            say("Which of them have no cable to here?"),
            say("labels, all, or none: typed by hand"),
            say("none"),
            _by_hand,
        ),
        Question(
            say("Telephones: {who}?", who=", ".join(map(say, PHONES))),
            say("five numbers with commas; {none} where there is none, and nobody is called", none=NONE),
            ", ".join([NONE] * len(PHONES)),
            _phones,
        ),
        Question(
            say("When do the day and the night shift begin?"),
            say("by the clock on the wall"),
            "07:00, 19:00",
            _shifts,
        ),
        Question(say("Which time zone has that clock?"), say("Area/City, or UTC"), zone, _zone),
    )


def is_said(typed: str, *words: str) -> bool:
    """Tell whether one of these was typed, in the language that is spoken or in the source language."""
    return typed.casefold() in {one.casefold() for word in words for one in (word, say(word))}


def _name(said: str, _: dict[str, Any]) -> dict[str, Any]:
    if len(said) > _NAME_LENGTH or not said.isprintable():
        raise ValueError(say("at most {most} letters", most=_NAME_LENGTH))
    return {"name": said}


def _beds(said: str, _: dict[str, Any]) -> dict[str, Any]:
    parts = _parts(said)
    if len(parts) == 1 and parts[0].isdecimal():
        if not 1 <= int(parts[0]) <= _MOST_BEDS:
            raise ValueError(say("{count} beds: allowed 1 to {most}", count=parts[0], most=_MOST_BEDS))
        return {"beds": tuple(f"B{number}" for number in range(1, int(parts[0]) + 1))}
    if not parts or len(parts) > _MOST_BEDS:
        raise ValueError(say("allowed 1 to {most} beds", most=_MOST_BEDS))
    for label in parts:
        _held(_LABEL, label, say("{label}: a label has at most 8 letters, digits or hyphens", label=label))
    twice = next((label for label in parts if parts.count(label) > 1), None)
    if twice is not None:
        raise ValueError(say("{label} stands there twice", label=twice))
    return {"beds": tuple(parts)}


def _by_hand(said: str, before: dict[str, Any]) -> dict[str, Any]:
    beds: tuple[str, ...] = before["beds"]
    if is_said(said, "none"):
        return {"by_hand": frozenset()}
    if is_said(said, ALL):
        return {"by_hand": frozenset(beds)}
    parts = _parts(said)
    strange = next((label for label in parts if label not in beds), None)
    if strange is not None:
        raise ValueError(say("{label} is none of the beds {beds}", label=strange, beds=", ".join(beds)))
    return {"by_hand": frozenset(parts)}


def _phones(said: str, _: dict[str, Any]) -> dict[str, Any]:
    parts = [part.strip() for part in said.split(",")]
    if len(parts) != len(PHONES):
        words = say(
            "{count} numbers: needed are {wanted}, with {none} where there is none",
            count=len(parts), wanted=len(PHONES), none=NONE,
        )  # fmt: skip
        raise ValueError(words)
    for part in parts:
        wrong = say("{number}: a number has digits, spaces and + - * # / ( ), at most 24 of them", number=part)
        _held(_PHONE, part, wrong)
    return {"phones": {who: part for who, part in zip(PHONES, parts, strict=True) if part not in ("", NONE)}}


def _shifts(said: str, _: dict[str, Any]) -> dict[str, Any]:
    parts = _parts(said)
    if len(parts) != 2:
        raise ValueError(say("two times are needed, as 07:00, 19:00"))
    for part in parts:
        _held(_WALL, part, say("{time} is no time: write it as 07:00", time=part))
    if parts[0] == parts[1]:
        raise ValueError(say("the two shifts begin at the same time"))
    return {"day": parts[0], "night": parts[1]}


def _zone(said: str, _: dict[str, Any]) -> dict[str, Any]:
    try:
        ZoneInfo(said)
    except (ZoneInfoNotFoundError, ValueError, OSError):
        raise ValueError(say("there is no time zone {name}: a name such as UTC or Area/City", name=said)) from None
    return {"zone": said}


def _parts(said: str) -> list[str]:
    return [part for part in re.split(r"[,\s]+", said) if part]


def _held(adapter: TypeAdapter[str], text: str, else_said: str) -> None:
    try:
        adapter.validate_python(text)
    except ValidationError:
        raise ValueError(else_said) from None
