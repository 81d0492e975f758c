"""The form that starts a transport says whether battery and gas last for the planned time."""

from typing import Any

import pytest
from pytestqt.qtbot import QtBot

from monitor.core.meaning.power_view import PowerView, SupplyView
from monitor.core.meaning.view import Meaning
from monitor.core.wire import AskMeaning, Meant
from monitor.desk.hearing import Heard
from monitor.desk.menu.readiness import NOT_KNOWN, battery_words, gas_words
from monitor.desk.store import Changes
from shared.instant import MINUTE
from tests.helpers.desk import Desk
from tests.helpers.menu import asked, press, ready
from tests.helpers.views import NOW, run


def meaning(minutes: float | None, at_most: bool = False, **more: Any) -> Meaning:
    power = PowerView(
        battery=SupplyView(minutes=minutes, at_most=at_most, source="shown by the console on mains"),
        times=2.0,
        margin=30.0,
    )
    fields: dict[str, Any] = {"bed": "B2", "slot": 1, "run_id": run().description.run_id, "at": NOW}
    return Meaning(**(fields | {"power": power} | more))


def told(desk: Desk, meant: Meaning) -> None:
    """Let the hub's answer come in."""
    desk.store.apply(Heard(0.4, Meant(request="menu:1", meaning=meant)), Changes())


def note(desk: Desk) -> str:
    question = desk.window.panel.question
    assert question is not None
    return question.note


# Rule of thumb (common practice, no source): 45 min -> 90 min wanted; 80 is NOT ready, 95 is ready.
@pytest.mark.parametrize(
    ("minutes", "said"), [(80.0, "Battery 80 min: NOT ready."), (95.0, "Battery 95 min: ready.")]
)
def test_that_the_departure_list_says_whether_the_battery_lasts(qtbot: QtBot, minutes: float, said: str) -> None:
    desk = ready(qtbot)
    press(desk, "mt")
    assert [request.slot for request in desk.sent if isinstance(request, AskMeaning)] == [1]
    told(desk, meaning(minutes))
    press(desk, "131")
    assert asked(desk) == "B2: departure list"
    assert note(desk).startswith(f"For 45 min battery and gas should last 90 min. {said}")


def test_that_the_step_of_the_cylinder_says_how_many_litres_the_trip_takes(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mt")
    told(desk, meaning(95.0))
    press(desk, "1310")
    assert asked(desk) == "B2: the cylinder in use"
    assert note(desk).endswith("90 min at 3.0 L/min take 270 L.")  # the sweep that the bed was filled with


def test_that_without_an_answer_the_form_says_not_known_and_goes_on(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    press(desk, "mt131")
    assert note(desk).startswith(NOT_KNOWN)


def test_that_an_answer_about_another_run_says_nothing_of_this_one(qtbot: QtBot) -> None:
    desk = ready(qtbot)
    told(desk, meaning(95.0, run_id="another"))
    press(desk, "mt131")
    assert note(desk).startswith(NOT_KNOWN)


def test_that_an_old_answer_says_nothing_of_now() -> None:
    assert battery_words([meaning(95.0, at=NOW - 2 * MINUTE)], 45, NOW) == NOT_KNOWN
    assert battery_words([meaning(95.0)], 45, None) == NOT_KNOWN


def test_that_of_two_pumps_the_one_with_less_counts_and_one_unknown_is_unknown() -> None:
    both = [meaning(95.0), meaning(60.0, slot=2)]
    assert battery_words(both, 45, NOW).endswith("Battery 60 min: NOT ready.")
    assert battery_words([meaning(95.0), meaning(None, slot=2)], 45, NOW).endswith(NOT_KNOWN)
    assert battery_words([meaning(95.0), None], 45, NOW) == NOT_KNOWN


def test_that_minutes_that_are_at_most_so_many_are_never_called_ready() -> None:
    assert battery_words([meaning(95.0, at_most=True)], 45, NOW).endswith("Battery at most 95 min.")
    assert battery_words([meaning(80.0, at_most=True)], 45, NOW).endswith("Battery at most 80 min: NOT ready.")


def test_that_litres_are_told_only_where_gas_flows() -> None:
    assert gas_words([meaning(95.0)], 45, 3.0) == "90 min at 3.0 L/min take 270 L."
    assert gas_words([meaning(95.0)], 20, 2.0) == "50 min at 2.0 L/min take 100 L."
    assert gas_words([meaning(95.0)], 45, 0.0) == ""
    assert gas_words([meaning(95.0)], 45, None) == ""
    assert gas_words([None], 45, 3.0) == ""
