"""Titles: a rule's words with its value and limit in them."""

from monitor.core.rules import LimitRule, Reference, RuleBase, TrialRule
from shared.language.saying import say
from shared.quantities import CATALOGUE, Quantity
from shared.support import RunDescription, label_at

MINUS = "−"
THIN = " "


def number(value: float, decimals: int) -> str:
    """Write a number for a screen: a real minus, a thin gap in thousands."""
    text = f"{abs(value):,.{decimals}f}".replace(",", THIN)
    negative = value < 0 and float(text.replace(THIN, "")) != 0
    return f"{MINUS}{text}" if negative else text


def title_of(rule: RuleBase, value: float | None, limit: float | None, run: RunDescription | None = None) -> str:
    """Give the title of an alert at its raise; ``run``: whose sensors say what the quantity is called."""
    quantity = own_quantity(rule)
    decimals = CATALOGUE[quantity].decimals if quantity else 0
    label = _label(quantity, run) if quantity else ""
    if isinstance(rule, LimitRule) and rule.of in (Reference.RUN_BASELINE, Reference.ORDER_BASELINE):
        return rule.title.format(value=_change(rule, value, limit), limit="", label=label)
    if isinstance(rule, LimitRule) and rule.latching_below is not None and _backwards(rule, value):
        return say("Back flow {put}", put=_put(value, decimals))
    if isinstance(rule, TrialRule) and rule.clamp_at_most_s is not None and limit is None:
        return say("Clamped for more than {number} min", number=number(rule.clamp_at_most_s / 60, 0))
    return rule.title.format(value=_put(value, decimals), limit=_put(limit, decimals), label=label)


def _label(quantity: Quantity, run: RunDescription | None) -> str:
    return say(CATALOGUE[quantity].label if run is None else label_at(quantity, run))


def own_quantity(rule: RuleBase) -> Quantity | None:
    """Give the quantity that a rule is about, if it is about one."""
    found = getattr(rule, "quantity", None)
    return found if isinstance(found, Quantity) else None


def _put(value: float | None, decimals: int) -> str:
    return "--" if value is None else number(value, decimals)


def _backwards(rule: LimitRule, value: float | None) -> bool:
    return value is not None and rule.latching_below is not None and value < rule.latching_below


def _change(rule: LimitRule, value: float | None, limit: float | None) -> str:
    """Give the change against the baseline in percent, without a sign: the title says up or down."""
    share = rule.above if rule.above is not None else rule.below
    if value is None or limit is None or not share:
        return "--"
    baseline = limit / share
    return number(abs(value / baseline - 1) * 100, 0) if baseline else "--"


#: How the first word of a rule's id is written: as its quantity is on every screen.
_WRITTEN = {"map": "MAP", "pa": "PA", "pp": "PP", "spo2": "SpO₂", "svo2": "SvO₂", "inlet": "Drain P"}


def rule_name(rule: str) -> str:
    """Write a rule's id as words: ``Drain P very low`` of ``inlet_very_low``."""
    first, *rest = rule.split("_")
    return " ".join((_WRITTEN.get(first, first.capitalize()), *rest))
