"""Sets entered by hand are held to the table of roles as they arrive: no reading taken at a bed is lost for it.

`look` is asked by the hub before the engine hears of the set, and the answer travels and is kept with the set: what
is in a record is not looked at again. A set whose named person may not enter there is kept and judged all the same,
for what is beyond a limit is beyond it whoever typed it; it is marked wherever it is shown, ends no alert, and the
charge nurse is told once. A correction or strike of somebody who may not is kept in the log and changes nothing.
"""

from collections.abc import Mapping
from types import MappingProxyType

from monitor.core.entries import EntryKind
from monitor.core.handling import Handling
from monitor.core.roles.beyond import keep
from monitor.core.roles.entering import may_enter, nurse_of
from monitor.core.roles.table import TABLE, Act, May
from monitor.core.state import KeptSet
from monitor.core.view import ENTERED_SET
from shared.language.saying import say, to_say
from shared.messages import Observation, Unchecked

#: In the words of a log, without names.
UNCHECKED_WORDS: Mapping[Unchecked, str] = MappingProxyType(
    {
        Unchecked.NOT_ASKED: to_say("who entered it was not checked: the hub was away"),
        Unchecked.NO_PERSON: to_say("who entered it is not among the unit's people"),
        Unchecked.ROLE: to_say("the role of who entered it does not enter readings"),
        Unchecked.OTHER_BED: to_say("who entered it stands at another bed"),
        Unchecked.ALONE: to_say("a set of somebody else is struck by two people"),
    }
)


def look(handling: Handling, observation: Observation) -> Unchecked | None:
    """Tell why the people whom a set names may not enter at its bed now, or what the form says it did not check.

    Whoever struck alone what they sent themselves has taken it back, and may.
    """
    edition, by = observation.edition, observation.by
    if by is None or observation.bed not in handling.state.beds:
        return None
    alone = edition is not None and edition.struck and edition.second in (None, by)
    if alone and by == _sender(handling, observation):
        return None
    names = [by] if edition is None or edition.second is None else [by, edition.second]
    found = (_why_not(handling, observation.bed, name) for name in names)
    # what a sender says of roles is not taken from it: it can only say that nobody was asked
    said = Unchecked.NOT_ASKED if observation.unchecked is not None else None
    return next((why for why in found if why is not None), Unchecked.ALONE if alone else said)


def tell(handling: Handling, observation: Observation) -> None:
    """Write down that a set is unchecked, and show it to the charge nurse: once for a person and a bed."""
    assert observation.unchecked is not None
    assert observation.by is not None
    why, bed = _words(handling, observation), observation.bed
    handling.write(
        EntryKind.SET_UNCHECKED,
        bed,
        slot=observation.slot,
        person=observation.by,
        text=say("Set not checked: {why}", why=why),
    )
    shown = handling.state.unit.beyond
    if not any(
        (one.person, one.bed, one.what, one.why) == (observation.by, bed, ENTERED_SET, why) for one in shown
    ):
        keep(handling, observation.by, bed, ENTERED_SET, why)


def refuse(handling: Handling, observation: Observation) -> None:
    """Write down that a correction or a strike changes nothing, and why."""
    assert observation.edition is not None
    what = say("strike") if observation.edition.struck else say("correction")
    text = say(
        "{what} of a set, version {version}: {words}",
        what=what,
        version=observation.edition.version,
        words=_words(handling, observation),
    )
    handling.write(EntryKind.REFUSED, observation.bed, slot=observation.slot, person=observation.by, text=text)


def _why_not(handling: Handling, bed: str, name: str) -> Unchecked | None:
    person = handling.people.get(name)
    if person is None:
        return Unchecked.NO_PERSON
    if name in may_enter(handling, bed):
        return None
    own = any(TABLE[Act.READINGS][role] is May.OWN_BED for role in person.roles)
    return Unchecked.OTHER_BED if own else Unchecked.ROLE


def _sender(handling: Handling, observation: Observation) -> str | None:
    run = handling.state.beds[observation.bed].runs.get(observation.slot)
    kept: KeptSet | None = run.sets.get(observation.edition.set) if run and observation.edition else None
    return kept.by if kept is not None and kept.version == 1 else None


def _words(handling: Handling, observation: Observation) -> str:
    assert observation.unchecked is not None
    words = UNCHECKED_WORDS[observation.unchecked]
    nurse = handling.people.get(nurse_of(handling, observation.bed) or "")
    if observation.unchecked is Unchecked.OTHER_BED and nurse is not None:
        return say("{bed} is {label}'s bed", bed=observation.bed, label=nurse.label)
    return words
