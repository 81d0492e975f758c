"""What was done beyond a role: written down, and shown until the charge nurse has seen it. Nothing is undone."""

from monitor.core.bed_commands import ReviewBeyond
from monitor.core.commands import Command
from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.state import BeyondState
from shared.language.saying import say

#: So many are shown, the newest; the record has all.
SHOWN_AT_MOST = 40


def write_down(handling: Handling, command: Command, why: str) -> None:
    """Write down that a command went beyond its role, and keep it until it is seen."""
    bed: str | None = getattr(command, "bed", None)
    keep(handling, command.person, bed, command.kind, why)
    text = say("Beyond the role, {kind}: {why}", kind=command.kind.replace("_", " "), why=why)
    handling.write(EntryKind.BEYOND_ROLE, bed, person=command.person, command=command.id, text=text)


def keep(handling: Handling, person: str, bed: str | None, what: str, why: str) -> None:
    """Keep something until the charge nurse has seen it; ``what``: the kind of the command, or of what was told."""
    unit = handling.state.unit
    unit.beyond.append(BeyondState(unit.next_beyond, handling.now, person, bed, what, why))
    unit.next_beyond += 1
    del unit.beyond[:-SHOWN_AT_MOST]
    handling.touch(None)


def review(handling: Handling, command: ReviewBeyond) -> str | None:
    """Take from the list what was seen. Gives a reason where nothing was."""
    unit = handling.state.unit
    seen = [one for one in unit.beyond if one.number <= command.up_to]
    if not seen:
        return say("nothing is left that was done beyond a role")
    unit.beyond = [one for one in unit.beyond if one.number > command.up_to]
    text = say("Seen: {acts} beyond a role, to number {number}", acts=len(seen), number=seen[-1].number)
    handling.write(EntryKind.BEYOND_SEEN, person=command.person, command=command.id, text=text)
    return None
