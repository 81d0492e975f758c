"""What is said of a drill in the line at the top, by how it stands; the longest first. Pure."""

from monitor.desk import words
from monitor.desk.drill.state import DrillState
from shared.instant import Instant
from shared.language.saying import say


def line_words(state: DrillState, why: str, calls: str, resting: bool, step: str = "") -> tuple[str, ...]:
    """Say how the drill stands.

    Args:
        why: it came to that.
        calls: what the live unit wants now; empty: nothing that takes the desk.
        resting: keys do nothing for a moment.
        step: of an offer, what is asked for.
    """
    if state is DrillState.OFFERED:
        return (
            say("A drill is offered: {step}. F9 or Escape: no drill", step=step),
            say("Drill: {step}. F9: no drill", step=step),
        )
    if state is DrillState.RUNNING:
        return (
            say("Below is a drill, not this unit. F9: to the live board. F10: end the drill"),
            say("Below: a drill. F9: live board. F10: end it"),
        )
    if state is DrillState.ASIDE:
        rest = say("Keys rest for a moment") if resting else _waiting(calls)
        return (
            say("This is LIVE. The drill stands aside: {why}. {rest}", why=why, rest=rest),
            say("Drill aside: {why}. {rest}", why=why, rest=rest),
            say("Drill aside. {rest}", rest=rest),
        )
    if state is DrillState.ENDED:
        return (
            say("The drill is over. F9 or Escape: back to the live board"),
            say("Drill over. F9: live board"),
        )
    return ("",)


def _waiting(calls: str) -> str:
    return say("F10: end it") if calls else say("F9: back to it. F10: end it")


def gone_words(name: str, at: Instant | None, live: bool) -> str:
    """Say that a process of a drill has ended by itself."""
    when = say(" at {clock}", clock=words.clock(at, None)) if at is not None else ""
    said = say("The drill has ended: its {name} is gone{when}.", name=name, when=when)
    return f"{said} {say('The live watch goes on.')}" if live else said
