"""What explains what, from a small made table of consequences: by name, by pattern, by class, each other."""

from monitor.core.alerts.links import explained_by
from monitor.core.rules import ConditionRule, Consequence, RuleBase


def rule(name: str, about: str = "physiological") -> RuleBase:
    said = {"id": name, "title": name, "priority": "medium", "class": about, "mark": "TD"}
    return ConditionRule.model_validate({"kind": "condition", "condition": "hot"} | said, strict=False)


RULES = (
    rule("flow_low"),
    rule("flow_none"),
    rule("map_low"),
    rule("no_feed", "technical"),
    rule("hot", "technical"),
)


def explains(*table: Consequence) -> dict[str, set[str]]:
    """What each rule explains, where it explains anything."""
    found = explained_by(RULES, table)
    assert set(found) == {one.id for one in RULES}, "every rule is there, if only with nothing"
    return {name: set(effects) for name, effects in found.items() if effects}


def test_that_without_consequences_nothing_explains_anything() -> None:
    assert explains() == {}


def test_that_a_cause_explains_what_is_named_and_never_the_other_way_round() -> None:
    assert explains(Consequence(causes=("flow_low",), explains=("map_low",))) == {"flow_low": {"map_low"}}


def test_that_a_pattern_stands_for_every_rule_that_it_fits_and_a_rule_never_explains_itself() -> None:
    assert explains(Consequence(causes=("flow_*",), explains=("flow_*", "map_low"))) == {
        "flow_low": {"flow_none", "map_low"}, "flow_none": {"flow_low", "map_low"},
    }  # fmt: skip
    assert explains(Consequence(causes=("FLOW_*",), explains=("map_low",))) == {}, "as it is written"


def test_that_a_class_stands_for_its_rules_alone() -> None:
    assert explains(Consequence(causes=("no_feed",), explains=("class:physiological",))) == {
        "no_feed": {"flow_low", "flow_none", "map_low"}
    }
    assert explains(Consequence(causes=("class:technical",), explains=("map_low",))) == {
        "no_feed": {"map_low"}, "hot": {"map_low"},
    }  # fmt: skip


def test_that_causes_explain_each_other_only_where_that_is_said() -> None:
    pair = ("flow_low", "hot")
    assert explains(Consequence(causes=pair)) == {}
    assert explains(Consequence(causes=pair, each_other=True)) == {"flow_low": {"hot"}, "hot": {"flow_low"}}
    assert explains(Consequence(causes=pair, each_other=True, explains=("map_low",))) == {
        "flow_low": {"hot", "map_low"}, "hot": {"flow_low", "map_low"},
    }  # fmt: skip


def test_that_several_consequences_of_one_cause_add_up() -> None:
    table = (
        Consequence(causes=("hot",), explains=("map_low",)),
        Consequence(causes=("h*",), explains=("flow_low",)),
    )
    assert explains(*table) == {"hot": {"map_low", "flow_low"}}
