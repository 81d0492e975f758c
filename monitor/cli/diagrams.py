"""Which tables are drawn, and how their rows read. A table that changes changes its diagram."""

from collections.abc import Iterable, Mapping
from enum import StrEnum
from itertools import product

from monitor.cli.drawing.bars import Class, Lane, clock, draw_bars
from monitor.cli.drawing.columns import Way, draw_columns
from monitor.core.alerts.alert import CONDITION, SIGNAL, ConditionState, SignalEvent, SignalState, Turn
from monitor.core.equipment.state import ITEM, ItemState
from monitor.core.grades import RUNG_LABEL, LadderClass, Rung
from monitor.core.ladder_table import LadderRow, LadderTable
from monitor.core.pages.states import PageEvent, PageState, next_state
from monitor.desk.drill.state import TABLE as DRILL_TABLE
from monitor.desk.drill.state import DrillState
from monitor.desk.link_state import TABLE as DESK_TABLE
from monitor.desk.link_state import LinkState
from shared.entry.draft import TABLE as DRAFT_TABLE
from shared.entry.draft import DraftState
from shared.entry.versions import TABLE as SENT_TABLE
from shared.entry.versions import SetState
from shared.feed_link import FEED_TABLE, Do, FeedState
from shared.link import HUB_TABLE, HubState, Verdict

NO_BREAK = "\u00a0"
#: What the answers of people do to a signal.
_ANSWERS = frozenset({SignalEvent.SEEN, SignalEvent.TAKEN, SignalEvent.HOLD_ENDED})
_CLASS_TITLES: Mapping[LadderClass, str] = {
    LadderClass.CIRCUIT_TWO: "High, circuit-critical, two witnesses or called by hand",
    LadderClass.CIRCUIT_ONE: "High, circuit-critical, one witness",
    LadderClass.PATIENT_SIDE: "High, patient side",
    LadderClass.HIGH_OTHER: "High, other",
    LadderClass.MEDIUM: "Medium",
    LadderClass.CONSOLE: "Technical medium, the console",
    LadderClass.FEED: "Technical medium, one bed's feed",
    LadderClass.BOARD_BLIND: "Board blind",
    LadderClass.COVER: "A post with nobody",
}


def diagrams(ladder: LadderTable) -> dict[str, str]:
    """Give every diagram as SVG, by the name of its file."""
    return {
        "alert_condition.svg": _condition(),
        "alert_signal.svg": _signal(),
        "responsibility.svg": _responsibility(),
        "ladder.svg": _ladder(ladder),
        "feed_link_feed.svg": _feed_side(),
        "feed_link_hub.svg": _hub_side(),
        "desk_link.svg": _desk_link(),
        "page.svg": _page(),
        "round_draft.svg": _round_draft(),
        "round_sent.svg": _round_sent(),
        "item.svg": _item(),
        "drill.svg": _drill(),
    }


def _condition() -> str:
    rows = [
        (before, after, sample, _done(turn, Turn.NOTHING)) for (before, sample), (after, turn) in CONDITION.items()
    ]
    below = (
        "Follows the readings. A sample is within the limit, beyond it, beyond it for the delay,",
        "or in the deadband between. After the arrow: what turns.",
    )
    return draw_columns("The condition of an alert", below, _names(ConditionState), _ways(rows))


def _signal() -> str:
    rows = [(before, after, event, "") for (before, event), after in SIGNAL.items()]
    below = (
        "Follows the people, and the end of the condition. A low ends by itself; what nobody had seen,",
        "and what is marked latching, stays listed until it is seen. What is not drawn cannot happen.",
    )
    return draw_columns("The signal of an alert", below, _names(SignalState), _ways(rows))


def _responsibility() -> str:
    """The rows of the signal that people cause. Who may answer what is in `alerts.answers`, no table."""
    rows = [(before, after, event, "") for (before, event), after in SIGNAL.items() if event in _ANSWERS]
    below = (
        "The rows of the signal that people cause: seen is not taken. A hold that ends gives the alert back:",
        "somebody knows of it, nobody has it. Not drawn, as the signal does not move: a renewal (the hold ends",
        "later), help by phone (one rung waits), pass on (the next rung is called; the hold of its holder ends).",
    )
    states = [s.value for s in SignalState if any(s in row[:2] for row in rows)]
    return draw_columns("Who knows, and who has it", below, states, _ways(rows))


def _feed_side() -> str:
    rows = [(before, after, heard, _done(do, Do.NOTHING)) for (before, heard), (after, do) in FEED_TABLE.items()]
    below = ("What the feed hears of its hub, and after the arrow what it does.",)
    return draw_columns("The feed link, at the feed", below, _names(FeedState), _ways(rows))


def _hub_side() -> str:
    rows = [(before, after, heard, _done(do, Verdict.NONE)) for (before, heard), (after, do) in HUB_TABLE.items()]
    below = ("What the hub hears of one epoch of a feed, and after the arrow what becomes of it.",)
    return draw_columns("The feed link, at the hub", below, _names(HubState), _ways(rows))


def _desk_link() -> str:
    rows = [(before, after, event, "") for (before, event), after in DESK_TABLE.items()]
    below = ("How a desk stands with the hub.",)
    return draw_columns("The link of a desk", below, _names(LinkState), _ways(rows))


def _drill() -> str:
    rows = [(before, after, event, "") for (before, event), after in DRILL_TABLE.items()]
    below = (
        "A drill at a desk. Whatever the live unit wants comes first, in every state that shows a drill;",
        "going back to it is for people to do.",
    )
    return draw_columns("A drill", below, _names(DrillState), _ways(rows))


def _page() -> str:
    rows = []
    for before, event in product(PageState, PageEvent):
        try:
            rows.append((before, next_state(before, event), event, ""))
        except KeyError:  # settled: nothing can happen to it any more
            continue
    states = [s.value for s in PageState if any(s in row[:2] for row in rows)]
    below = ("A page that is sent to a mail server. Handed over is the most that is ever known.",)
    return draw_columns("A page", below, [name.replace("_", NO_BREAK) for name in states], _ways(rows))


def _round_draft() -> str:
    rows = [(before, after, step, "") for (before, step), after in DRAFT_TABLE.items()]
    below = (
        "Judged anew after every field that was typed into: it holds nothing that could be sent, asks for",
        "something to be typed again, or fits. Only a person sends it, and only what fits.",
    )
    return draw_columns("A round in the making", below, _names(DraftState), _ways(rows))


def _round_sent() -> str:
    rows = [(before, after, step, "") for (before, step), after in SENT_TABLE.items()]
    below = (
        "A correction is a new version; to strike it one person asks and another agrees in time. Whoever sent",
        "it may take it back alone for a few seconds. Nothing is deleted.",
    )
    return draw_columns("A round that was sent", below, _names(SetState), _ways(rows))


def _item() -> str:
    rows = [(before, after, event, "") for (before, event), after in ITEM.items()]
    below = (
        "Only a person's check or return brings an item into service. Freed from a run it is to be checked; what",
        "serves once is used up. A check alone ends no quarantine, and what was used serves no other run.",
    )
    return draw_columns("An item of the equipment", below, _names(ItemState), _ways(rows))


def _ladder(table: LadderTable) -> str:
    below = (
        "Minutes and seconds after the raise, while nobody has it. A dot: called; a tick: called again (a few).",
    )
    classes = [
        Class(_CLASS_TITLES[name], _lanes(table.rows[name]), _after(table.rows[name])) for name in LadderClass
    ]
    return draw_bars("Who is called, and when", below, classes)


def _lanes(row: LadderRow) -> tuple[Lane, ...]:
    again: tuple[float, ...] = ()
    if row.repeat_from_s is not None and row.repeat_every_s is not None:
        again = tuple(row.repeat_from_s + number * row.repeat_every_s for number in range(3))
    times = [(rung, row.seconds(rung)) for rung in Rung]
    return tuple(
        Lane(RUNG_LABEL[rung], at, again if row.repeat_all or rung is Rung.CHARGE else ())
        for rung, at in times
        if at is not None
    )


def _after(row: LadderRow) -> str:
    if row.repeat_from_s is None or row.repeat_every_s is None:
        return "no repeats"
    who = "all called so far" if row.repeat_all else RUNG_LABEL[Rung.CHARGE].lower()
    return f"from {clock(row.repeat_from_s)} every {clock(row.repeat_every_s)}: {who}"


def _ways(rows: Iterable[tuple[StrEnum, StrEnum, StrEnum, str]]) -> list[Way]:
    """Put the rows that lead the same way and do the same into one arrow, in the order of the table."""
    causes: dict[tuple[StrEnum, StrEnum, str], list[StrEnum]] = {}
    for before, after, cause, done in rows:
        causes.setdefault((before, after, done), []).append(cause)
    return [
        Way(_name(before), _name(after), f"{_listed(found)} → {done}" if done else _listed(found))
        for (before, after, done), found in causes.items()
    ]


def _listed(causes: list[StrEnum]) -> str:
    if len(causes) > 3 and len(causes) == len(type(causes[0])):
        return "anything"
    return ", ".join(_name(cause) for cause in causes)


def _done(done: StrEnum, nothing: StrEnum) -> str:
    return "" if done is nothing else _name(done)


def _names(states: type[StrEnum]) -> list[str]:
    return [_name(state) for state in states]


def _name(word: StrEnum) -> str:
    """Write a state or a cause; it is never broken over two lines."""
    return word.value.replace("_", NO_BREAK).replace(" ", NO_BREAK)
