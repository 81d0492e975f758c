"""What a hub answers and tells, said by a desk in its language; what it must know again stays as it came."""

from collections.abc import Callable
from typing import Any

import pytest

from monitor.core.view import SheetView, SignInView
from monitor.core.wire import CommandAnswer, NotUnderstood, UnitDelta
from monitor.desk.heard_views import in_our_words
from shared.language.saying import say
from shared.sign_in import SignedIn
from tests.helpers.pseudo import plain_words, pseudo_language, speaking
from tests.helpers.views import BOOT, NOW, unit


def answered(reason: str) -> CommandAnswer:
    return CommandAnswer(id="1", accepted=False, at=0, recorded=True, reason=reason)


def signed(reason: str) -> SignedIn:
    return SignedIn(request="1", person="nurse-1", reason=reason)


def of_unit(**fault: Any) -> UnitDelta:
    return UnitDelta(boot=BOOT, seq=1, unit=unit(**fault))


TOLD: dict[str, tuple[Any, Callable[[Any], str]]] = {
    "role": (answered("nobody has it: there is no take to explain"), lambda one: one.reason),
    "late": (answered("it came 45 s after it was given: look again"), lambda one: one.reason),
    "wait": (signed("3 wrong secrets: again in 30 s"), lambda one: one.reason),
    "wrong": (signed("this is not the secret of 7: again in 2 s"), lambda one: one.reason),
    "sheet": (
        of_unit(sheet=SheetView(folder="/", host="h", since=NOW, fault="it was not done within 4 min")),
        lambda one: one.unit.sheet.fault,
    ),
    "secrets": (
        of_unit(sign_in=SignInView(fault="a secret is being checked: again in 1 s")),
        lambda one: one.unit.sign_in.fault,
    ),
}


@pytest.mark.parametrize("name", TOLD)
def test_that_what_a_hub_answers_is_said_in_the_language_of_the_desk(name: str) -> None:
    message, words = TOLD[name]
    assert plain_words(words(message))
    assert in_our_words(message) is message, "the hub's own language: nothing is made anew"
    with speaking(pseudo_language()):
        assert plain_words(words(in_our_words(message))) == []


def test_that_a_request_is_known_again_by_the_name_before_its_reason() -> None:
    with speaking(pseudo_language()):
        told = in_our_words(NotUnderstood(reason="cards-1a2b: the cards took too long"))
        assert told.reason == f"cards-1a2b: {say('the cards took too long')}"
