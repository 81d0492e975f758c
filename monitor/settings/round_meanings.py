"""What each key of a scenario's rounds by hand means: the rounds, what becomes of them, and planned shifts."""

from collections.abc import Mapping

ROUND_MEANINGS: Mapping[str, Mapping[str, str]] = {
    "Round": {
        "bed": "bed",
        "slot": "1, or 2 for the second pump of a bed",
        "by": "who enters it",
        "kind": "which round it is",
        "read_at": "when it is read, the first of a series",
        "at": "when it is saved, where that is much later; a series has none",
        "takes": "from reading to saving",
        "every": "from one round of a series to the next",
        "until": "the end of a series",
        "spread": "each of a series begins up to so much later, as the seed has it",
        "skip": "which of a series are not done, counted from 1",
        "read_off": "another bed, off which the numbers were read by mistake",
        "slip": "what is typed first into a field, before the number itself",
        "misread": "what is typed instead of the number",
        "found": "what was found, by item of the round",
        "not_looked": "items that nobody looked at; the rest is in order",
        "key": "by which a `[[mend]]` names it; a series has none",
    },
    "Mend": {
        "of": "the key of the round",
        "at": "when it is corrected, or asked that it be struck",
        "by": "who does that",
        "why": "the reason",
        "values": "the numbers that are corrected; without any the round is struck",
        "second": "who agrees that it is struck",
        "agreed": "when that is agreed",
        "move_to": "the bed at which a struck round is put down anew",
    },
    "ShiftPlan": {
        "name": "name of the shift",
        "begins": "its beginning, every day the same",
        "ends": "its end",
        "nurses": "who is planned at which bed",
        "deputy": "who is planned as deputy of the nurses",
        "charge": "who is planned as charge nurse",
        "perfusionist": "who is planned as perfusionist",
        "intensivist": "who is planned as intensivist",
        "surgeon": "who is planned as surgeon",
    },
}
