"""Own limits of a bed: which, its value, until when, why, and a second person where the rule is high.

A bedside nurse proposes one; those who may set one accept or refuse it here.
"""

from collections.abc import Callable

from monitor.core.bed_commands import AnswerProposal, DropLimit, ProposeLimit, SetLimit
from monitor.core.grades import Priority, Role
from monitor.core.view import LimitView, RunView, TileView
from monitor.desk.menu.asking import Asking
from monitor.desk.question import Choice
from monitor.desk.standing import limit_words, write_unit
from monitor.desk.tile.content import label_of
from monitor.desk.typed import number_field
from shared.instant import Instant
from shared.language.saying import say, to_say

WHY = (
    to_say("Ordered"),
    to_say("Usual for this patient"),
    to_say("For a procedure"),
    to_say("Sensor or line"),
)
_SET, _DROP, _ACCEPT, _REFUSE = "set", "drop", "accept", "refuse"


def choose_limit(asking: Asking, tile: TileView, run: RunView) -> None:
    """Ask which limit; each stands with its value in force."""
    if not run.settable:
        asking.tell(say("No limit can be set for {bed} alone.", bed=tile.bed))
        return
    choices = tuple(Choice(one.rule, _label(asking, one, run)) for one in run.settable)
    note = say(
        "For this bed alone, for a time. A high needs two people. The console's own limits stay as they are."
    )
    by_rule = {one.rule: one for one in run.settable}
    title = say("{bed}: own limit", bed=tile.bed)
    asking.choose(title, choices, lambda rule: _chosen(asking, tile, run, by_rule[rule]), note)


def _chosen(asking: Asking, tile: TileView, run: RunView, limit: LimitView) -> None:
    proposes, own, proposed = _proposes(asking), limit.own, limit.proposed
    choices: list[Choice] = []
    if proposed is not None and not proposes:
        choices += [Choice(_ACCEPT, say("Accept: it counts from now on")), Choice(_REFUSE, say("Refuse"))]
    elif proposed is not None and proposed.by == asking.people.name:
        choices.append(Choice(_REFUSE, say("Take the proposal back")))
    if not choices and (own is None or proposes):
        _value(asking, tile, run, limit)
        return
    choices.append(Choice(_SET, say("Propose another") if proposes else say("Set anew")))
    if own is not None and not proposes:
        choices.append(Choice(_DROP, say("Take back: the default stands again")))

    def answer(value: str) -> None:
        slot = run.description.slot
        if value == _SET:
            _value(asking, tile, run, limit)
        elif value == _DROP:
            asking.give(tile, DropLimit(**asking.who(), bed=tile.bed, slot=slot, rule=limit.rule))
        elif value == _ACCEPT:
            _second(asking, tile, limit, lambda second: _answer(asking, tile, run, limit, True, second))
        else:
            _answer(asking, tile, run, limit, False, None)

    if proposed is not None:
        said = say(
            "proposed {field_words} until {hhmm}",
            field_words=field_words(limit, run, proposed.value),
            hhmm=asking.hhmm(proposed.until),
        )
        by = asking.session.store.label(proposed.by)
        asking.choose(
            f"{tile.bed}: {said}",
            tuple(choices),
            answer,
            say("By {by}, not in force. {reason}", by=by, reason=proposed.reason).strip(),
        )
    elif own is not None:
        asking.choose(f"{tile.bed}: {limit_words(limit, run, asking.hhmm)}", tuple(choices), answer, own.reason)


def _proposes(asking: Asking) -> bool:
    """Tell whether who sits here may propose a limit, and not set one."""
    name = asking.people.name
    person = asking.session.store.person(name) if name is not None else None
    return person is not None and person.role == Role.BEDSIDE_NURSE.value


def _second(asking: Asking, tile: TileView, limit: LimitView, then: Callable[[str | None], None]) -> None:
    """Ask for the second person where the rule is high."""
    if limit.priority is Priority.HIGH:
        asking.person(
            say("{bed}: a high rule: who is the second person?", bed=tile.bed), then, but=asking.people.name
        )
    else:
        then(None)


def _answer(
    asking: Asking, tile: TileView, run: RunView, limit: LimitView, accept: bool, second: str | None
) -> None:
    assert limit.proposed is not None
    asking.give(
        tile,
        AnswerProposal(
            **asking.who(),
            bed=tile.bed,
            slot=run.description.slot,
            rule=limit.rule,
            accept=accept,
            value=limit.proposed.value,
            until=limit.proposed.until,
            second=second,
        ),
    )


def _value(asking: Asking, tile: TileView, run: RunView, limit: LimitView) -> None:
    field = number_field(
        limit.quantity,
        label=f"{label_of(limit.quantity, run)} {(say('above') if limit.above else say('below'))}",
        standing=limit.own.value if limit.own is not None else None,
        default=limit.default,
        standing_words=say("own limit"),
    )
    what = say("proposal, not in force until accepted") if _proposes(asking) else say("own limit")
    title = f"{tile.bed}: {what}, {say(limit.priority.value)}"
    asking.number(title, field, lambda value: _until(asking, tile, run, limit, value))


def _until(asking: Asking, tile: TileView, run: RunView, limit: LimitView, value: float) -> None:
    title = say("{bed}: {field_words}: for how long?", bed=tile.bed, field_words=field_words(limit, run, value))
    asking.until(
        title, lambda until: _why(asking, tile, run, limit, value, until), say("Then the default returns.")
    )


def _why(asking: Asking, tile: TileView, run: RunView, limit: LimitView, value: float, until: Instant) -> None:
    bed, slot, rule = tile.bed, run.description.slot, limit.rule

    def give(reason: str) -> None:
        if _proposes(asking):
            who = asking.who()
            asking.give(
                tile, ProposeLimit(**who, bed=bed, slot=slot, rule=rule, value=value, until=until, reason=reason)
            )
        else:
            _second(asking, tile, limit, lambda second: send(reason, second))

    def send(reason: str, second: str | None) -> None:
        command = SetLimit(
            **asking.who(),
            bed=bed,
            slot=slot,
            rule=rule,
            value=value,
            until=until,
            second=second,
            reason=reason,
        )
        asking.give(tile, command)

    asking.words(
        say("{bed}: {field_words}: why?", bed=tile.bed, field_words=field_words(limit, run, value)), WHY, give
    )


def field_words(limit: LimitView, run: RunView, value: float) -> str:
    """Write a limit with a value: ``Drain P below −90``."""
    side = say("above") if limit.above else say("below")
    return f"{label_of(limit.quantity, run)} {side} {write_unit(limit.quantity, value)}"


def _label(asking: Asking, limit: LimitView, run: RunView) -> str:
    side = say("above") if limit.above else say("below")
    default = write_unit(limit.quantity, limit.default) if limit.default is not None else "--"
    first = f"{label_of(limit.quantity, run)} {side} {default} · {say(limit.priority.value)}"
    if limit.proposed is not None:
        by = asking.session.store.label(limit.proposed.by)
        return say(
            "{first}\nproposed {write} · {by}",
            first=first,
            write=write_unit(limit.quantity, limit.proposed.value),
            by=by,
        )
    if limit.own is None:
        return first
    owner = asking.session.store.label(limit.own.by)
    own = write_unit(limit.quantity, limit.own.value)
    return say(
        "{first}\nown {own} until {hhmm} · {owner}",
        first=first,
        own=own,
        hhmm=asking.hhmm(limit.own.until),
        owner=owner,
    )
