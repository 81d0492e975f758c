"""What each key of ``patterns.toml`` means, in a few words, by the model that has it."""

from collections.abc import Mapping
from types import MappingProxyType

PATTERN_MEANINGS: Mapping[str, Mapping[str, str]] = MappingProxyType({
    "Patterns": {
        "looking": "how the signs are looked for",
        "move": "from when on something has changed",
        "pattern": "the patterns, in their order",
    },
    "Looking": {
        "every_s": "between two looks while an alert is present; a new alert is looked at at once",
        "hold_s": "another pattern must come first for so long before it is written down",
        "unread_s": "a reading missing or doubtful for so long counts as unread",
        "first_s": "until a baseline stands, usual is the median of the first so many seconds of the run",
        "sudden_s": "at once: within so long",
        "sudden_share": "and at least this share of the change",
        "rose_s": "a rise at once is remembered for so long",
        "unsteady_window_s": "swings are looked for in windows of so long",
        "unsteady_share": "a window swings when its range is above this share of its median",
        "unsteady_moves": "and at least so many times what counts as changed",
        "unsteady_hits": "unsteady: so many windows swing",
        "unsteady_windows": "of the last so many",
        "moves_s": "a reading that changed within so long moves",
        "leads_s": "onsets nearer to each other than this have no order",
        "mark": "where the numbers come from",
    },
    "Move": {
        "of": "the quantity or feature; a feature's unit is mmHg",
        "moved": "changed from here on, up or down, against what was usual",
        "still": "unchanged up to here",
        "share": "both are shares of what was usual",
        "median_s": "seconds of the running median that is compared",
        "at_flow": "only with a flow of at least this, L/min",
        "stopped": "about zero up to here, in the unit of the quantity",
        "reversed": "below zero by more than this",
        "explain": "a pattern that leaves this change unexplained comes later",
        "mark": "where the numbers come from",
    },
    "Pattern": {
        "id": "its letter",
        "title": "what a person reads",
        "supports": "only for these support types; empty: all",
        "needs_oxygenator": "only where an oxygenator is fitted",
        "sign": "its signs",
        "alternatives": "letters of patterns easily taken for it",
        "apart": "what would tell it apart at the bed: a look, a check, a measurement; never a treatment",
        "apart_oxygenator": "said after it where an oxygenator is fitted",
        "mark": "where the row comes from",
        "source": "the source in words",
    },
    "Sign": {
        "of": "the quantity or feature",
        "is": "what it does: one of these",
        "role": "required, for or against",
        "words": "what a person reads; {label} (quantity, as the run has it) is filled in",
        "before": "leads: the quantity that moved later",
        "than": "below, above: the value, in the unit of the quantity (of a feature: mmHg)",
        "one_of": "required signs with the same word here stand for one another",
        "if_fitted": "required only where its sensor is fitted",
        "since_run": "against what was usual when the run began, whatever was ordered since",
    },
})  # fmt: skip
