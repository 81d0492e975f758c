"""What the models of rules, ladder and unit refuse, checkpoints under other limits, and the states of a page."""

from pathlib import Path
from typing import Any

import pytest
from pydantic import ValidationError

from monitor.core.bed_commands import SetLimit
from monitor.core.checkpoint import VERSION
from monitor.core.drill import Drill
from monitor.core.engine import Engine
from monitor.core.entries import EntryKind
from monitor.core.grades import LadderClass
from monitor.core.ladder_table import LadderRow, LadderTable
from monitor.core.pages.states import SETTLED, PageEvent, PageState, next_state, state_words
from monitor.core.rules import LimitRule, Limits, RateRule
from monitor.core.unit import BedSettings, Person, Roster, Unit
from monitor.core.wire import LOAD_AT_MOST_MS, AskLoad
from monitor.settings import load_patterns
from shared.instant import HOUR
from shared.quantities import Quantity as Q
from tests.helpers.one_bed import Bed

RULE = {"id": "flow", "title": "Flow", "quantity": "pump_flow", "priority": "medium", "mark": "TD"}
PATTERNS = Path(__file__).parents[2] / "config" / "patterns.toml"


def refused(model: type[Any], fields: dict[str, object]) -> str:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(fields, strict=False)
    return str(caught.value)


@pytest.mark.parametrize(("model", "fields", "words"), [
    (LadderRow, {"mark": "TD"}, "no rung is ever called"),
    (LadderRow, {"r1": 60, "r2": 0, "mark": "TD"}, "a higher rung is called before a lower one"),
    (LadderRow, {"r1": 0, "repeat_from_s": 60, "mark": "TD"}, "repeat_from_s and repeat_every_s belong together"),
    (LadderTable, {"rows": {}}, "no row for circuit_two_witnesses"),
    (LimitRule, RULE, "exactly one of below, at_or_below, above, outside"),
    (LimitRule, RULE | {"below": 1, "above": 2}, "exactly one of below, at_or_below, above, outside"),
    (LimitRule, RULE | {"below": 1, "circuit_critical": True}, "only a high rule can be circuit_critical"),
    (RateRule, RULE | {"falls_by": 1, "window_s": 60, "block_s": 30}, "the window holds fewer than six blocks"),
    (Limits, {"rule": [RULE | {"kind": "limit", "below": 1}] * 2}, "rules named twice: flow"),
    (AskLoad, {"request": "load", "begin": 5, "end": 5}, "begin must be before end, by at most 31 days"),
    (AskLoad, {"request": "load", "begin": 0, "end": LOAD_AT_MOST_MS + 1}, "by at most 31 days"),
], ids=lambda one: one[:40] if isinstance(one, str) else "")  # fmt: skip
def test_that_a_model_says_what_is_wrong(model: type[Any], fields: dict[str, object], words: str) -> None:
    assert words in refused(model, fields)


def test_that_a_load_of_a_month_may_be_asked_for() -> None:
    assert AskLoad(request="load", begin=0, end=LOAD_AT_MOST_MS).end == LOAD_AT_MOST_MS


def test_that_a_unit_names_beds_once_and_nobody_whom_it_does_not_know() -> None:
    bed, person = BedSettings(label="B1"), Person.model_validate({"name": "n", "label": "N", "role": "surgeon"},
                                                                 strict=False)  # fmt: skip
    for fields, words in (
        ({"beds": (bed, bed)}, "beds named twice: B1"),
        ({"beds": (bed,), "roster": Roster(surgeon="m")}, "on the roster but not among the people: m"),
        (
            {"beds": (bed,), "people": (person,), "roster": Roster(nurses={"B2": "n"})},
            "that is not there: B2",
        ),
        (
            {
                "beds": (bed,),
                "people": (person.model_copy(update={"page_to": "n@unit.example"}),),
                "drill": Drill(title="Pump stops"),
            },
            "a drill pages nobody",
        ),
    ):
        assert words in refused(Unit, {"name": "Ward", **fields})


def test_that_a_pattern_is_named_by_its_letter_and_no_other() -> None:
    table = load_patterns(PATTERNS.read_text(), "patterns.toml")
    assert table.title(table.pattern[-1].id) == table.pattern[-1].title
    with pytest.raises(KeyError):
        table.title("no such letter")


def test_that_a_checkpoint_of_another_version_or_none_at_all_is_refused() -> None:
    bed = Bed()
    kept = bed.engine.checkpoint()
    for wrong in (b"", b"nonsense", kept.replace(b"%d" % VERSION, b"%d" % (VERSION - 1), 1)):
        with pytest.raises(ValueError, match=f"not a checkpoint of version {VERSION}"):
            Engine.restore(bed.configuration, wrong)
    for cut in (kept[: len(kept) // 2], kept.replace(b'"now":', b'"then":', 1)):
        with pytest.raises(ValueError, match="checkpoint cannot be read: "):
            Engine.restore(bed.configuration, cut)


def test_that_windows_of_changed_limits_are_filled_from_what_was_kept() -> None:
    """MAP is judged by a median of twenty seconds since the restart: its readings from before it count."""
    bed, fall = Bed(), {Q.MEAN_ARTERIAL_PRESSURE: 55.0}
    bed.run(90)
    limits = bed.configuration.limits
    rules = tuple(
        rule.model_copy(update={"window_s": 20.0}) if isinstance(rule, LimitRule) and rule.id == "map_low" else rule
        for rule in limits.rules
    )
    bed.configuration = bed.configuration.model_copy(update={"limits": limits.model_copy(update={"rules": rules})})
    bed.restart()
    bed.run(9, fall)
    assert bed.engine.tile("B1", bed.now).judged > 0
    bed.run(65, fall)  # the twenty seconds pass the limit after ten: then its delay of sixty less the lag
    assert "map_low" in {name for _, name in bed.raised()}


def test_that_an_own_limit_whose_rule_has_gone_since_still_ends_at_its_time() -> None:
    bed = Bed()
    bed.run(10)
    until = bed.now + HOUR
    assert bed.say(SetLimit, "charge", bed="B1", rule="map_low", value=57.0, until=until) == ""
    limits = bed.configuration.limits
    rules = tuple(rule for rule in limits.rules if rule.id != "map_low")
    bed.configuration = bed.configuration.model_copy(update={"limits": limits.model_copy(update={"rules": rules})})
    bed.restart()
    bed.wait(3600)
    [ended] = bed.of(EntryKind.LIMIT_ENDED)
    assert (ended.at, ended.text) == (until, "Own limit ended, by its time: MAP low 57; the default stands")


@pytest.mark.parametrize("state", PageState)
def test_that_nothing_happens_to_a_settled_page_and_everything_else_has_a_next_state(state: PageState) -> None:
    for event in PageEvent:
        if state in SETTLED:
            with pytest.raises(KeyError):
                next_state(state, event)
        else:
            assert next_state(state, event) in PageState
    assert next_state(PageState.IN_DOUBT, PageEvent.GAVE_UP) is PageState.LEFT_IN_DOUBT


def test_that_the_time_of_a_page_is_left_out_of_its_words_where_it_stands_beside() -> None:
    assert state_words(PageState.WAITING, "03:12") == "waiting for the mail server since 03:12"
    assert state_words(PageState.WAITING) == "waiting for the mail server"
    assert state_words(PageState.TRYING_AGAIN) == "not sent, tried again: telephone"
    assert state_words(PageState.DESKS_ONLY, "03:12") == "at the desks only"


def test_that_a_class_that_never_calls_the_intensivist_brings_no_one_forward() -> None:
    """A unit whose patient-side row ends with the perfusionist: a MAP that joins changes no time."""
    bed = Bed()
    rows = dict(bed.configuration.ladder.rows)
    rows[LadderClass.PATIENT_SIDE] = rows[LadderClass.PATIENT_SIDE].model_copy(update={"r4": None, "r5": None})
    ladder = bed.configuration.ladder.model_copy(update={"rows": rows})
    bed.configuration = bed.configuration.model_copy(update={"ladder": ladder})
    bed.restart()
    bed.run(90)
    low = {Q.INLET_PRESSURE: -170.0}
    bed.run(21, low)
    bed.run(36, low | {Q.MEAN_ARTERIAL_PRESSURE: 45.0})
    assert "map_very_low" in {entry.rule for entry in bed.of(EntryKind.FOLDED)}
    bed.wait(200)
    high = bed.of(EntryKind.RAISED)[0]
    called = [entry for entry in bed.of(EntryKind.CALLED) if entry.episode == high.episode and entry.rung == 4]
    assert [(entry.at - high.at) // 1000 for entry in called] == [180]
