"""Rules that are the program's own: no file sets them, because nothing about them is a limit of the unit.

*Call me if* speaks only where somebody has asked for it; *limits not set* stands while a run has no targets; a
*late reading* that was beyond a limit is told once; *record begun anew* where what was open before is lost; *two
feeds* for a bed, and *the clock of a feed*, are found at the door.
"""

from typing import Literal

from monitor.core.grades import AlertClass, LadderClass, Priority
from monitor.core.ladder_table import CallMe
from monitor.core.own_rule_ids import CALL_ME_ID, LATE_READING_ID
from monitor.core.rules import HelpRule, LimitRule, RuleBase
from monitor.core.state import CallMeState
from shared.language.saying import to_say
from shared.mark import Mark
from shared.quantities import Quantity


class OwnRule(RuleBase):
    """What the program tells of itself; no judge asks for it."""

    kind: Literal["own"] = "own"


#: A run without targets: flow against its target cannot be judged.
LIMITS_NOT_SET = OwnRule.model_validate(
    {
        "id": "limits_not_set",
        "title": to_say("Limits not set: no target"),
        "priority": Priority.LOW,
        "class": AlertClass.TECHNICAL,
        "mark": Mark.DEFAULT,
        "source": "our default",
    }
)

#: Raised by no judge: what it tells of is over.
LATE_READING = OwnRule.model_validate(
    {
        "id": LATE_READING_ID,
        "title": to_say("Late reading breached"),
        "priority": Priority.MEDIUM,
        "mark": Mark.COMMON_PRACTICE,
        "source": "common practice, no source",
    }
)


def call_me_rule(quantity: Quantity, asked: CallMeState, table: CallMe) -> LimitRule:
    """Give the rule that judges what somebody asked for: medium, never folded into anything else."""
    limit = asked.below if asked.below is not None else asked.above
    return LimitRule.model_validate(
        {
            "id": CALL_ME_ID,
            "title": to_say("Call asked for"),
            "quantity": quantity,
            "below": asked.below,
            "above": asked.above,
            "back_by": abs(limit or 0.0) * table.back_share,
            "delay_s": table.delay_s,
            "priority": Priority.MEDIUM,
            "mark": Mark.UNIT,
        }
    )


#: Nothing is known of what was open before: raised as the record begins, and ended by people as help is.
RECORD_ANEW = HelpRule.model_validate(
    {
        "id": "record_anew",
        "title": to_say("Record begun anew: look at every bed"),
        "priority": Priority.MEDIUM,
        "class": AlertClass.TECHNICAL,
        "latching": True,
        "ladder": LadderClass.BOARD_BLIND,
        "mark": Mark.DEFAULT,
        "source": "our default",
    }
)

#: Which feed is right nobody here can know: the first one is shown, and somebody looks.
FEEDS_CLASH = OwnRule.model_validate(
    {
        "id": "feeds_clash",
        "title": to_say("Two feeds for this bed"),
        "priority": Priority.MEDIUM,
        "class": AlertClass.TECHNICAL,
        "ladder": LadderClass.FEED,
        "mark": Mark.DEFAULT,
        "source": "our default",
    }
)

#: Ages are corrected for it.
FEED_CLOCK = OwnRule.model_validate(
    {
        "id": "feed_clock",
        "title": to_say("Clock of a feed is off"),
        "priority": Priority.LOW,
        "class": AlertClass.TECHNICAL,
        "mark": Mark.DEFAULT,
        "source": "our default",
    }
)

#: Stands for every call-me-if where only its grade matters.
_ANY_CALL_ME = LimitRule.model_validate(
    {
        "id": CALL_ME_ID,
        "title": to_say("Call asked for"),
        "quantity": Quantity.PUMP_FLOW,
        "below": 0.0,
        "priority": Priority.MEDIUM,
        "mark": Mark.UNIT,
    }
)

OWN_RULES: tuple[RuleBase, ...] = (LIMITS_NOT_SET, LATE_READING, _ANY_CALL_ME, RECORD_ANEW, FEEDS_CLASH, FEED_CLOCK)
