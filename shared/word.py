"""The base of words that go into messages, records and states: an enumeration whose values are quick to read."""

from enum import StrEnum
from operator import attrgetter
from typing import TYPE_CHECKING


class Word(StrEnum):
    """A word of a closed set, as `StrEnum` has it.

    ``value`` is asked for each time that a word is written as JSON, a hundred times in one view of a bed. Python
    3.11 goes through two functions of its own for it; an attribute is four times as quick.
    """

    if not TYPE_CHECKING:
        value = property(attrgetter("_value_"))
