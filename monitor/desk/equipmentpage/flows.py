"""What is written down of an item by key: each key asks what is missing, and one command is given at the end."""

import re
from collections import Counter
from collections.abc import Callable
from enum import StrEnum

from monitor.core.equipment.state import ItemState
from monitor.core.equipment.table import ItemKind
from monitor.core.equipment.view import EquipmentView, ItemView
from monitor.core.equipment_commands import AddItem, CheckItem, NoteItem, PlaceItem, QuarantineItem, ReturnItem
from monitor.desk.answering import Answering
from monitor.desk.item_words import kind_words
from monitor.desk.menu.asking import run_label
from monitor.desk.question import Choice, Ticks
from monitor.desk.typed import NumberField
from shared.language.saying import say, to_say
from shared.support import SUPPORT_LABEL, Support

_CHARGE = NumberField(to_say("Charge"), "%", 0, 100, 0)
_NAME = re.compile(r"[A-Za-z0-9-]{1,16}")
_MOST_PLACE = 40
_OTHER, _AT_BED = to_say("other place"), to_say("at a bed")
#: What is found, and what was done about it (common practice, no source).
_FAULTS = (
    to_say("Alarm or self-test failed"),
    to_say("Battery"),
    to_say("Noise or heat"),
    to_say("Leak or crack"),
    to_say("Part missing"),
    to_say("Dropped"),
)
_DONE = (to_say("Repaired, tested"), to_say("Part changed, tested"), to_say("Tested, nothing found"))
#: What fits some pumps, and some supports alone.
_BY_PUMP = frozenset({ItemKind.CONSOLE, ItemKind.CIRCUIT, ItemKind.PUMP_HEAD})


class Do(StrEnum):
    """What can be written down."""

    CHECK = "check"
    MOVE = "move"
    QUARANTINE = "quarantine"
    RETURN = "return"
    NOTE = "note"
    ADD = "add"


DO_OF_KEY = {"c": Do.CHECK, "m": Do.MOVE, "q": Do.QUARANTINE, "s": Do.RETURN, "n": Do.NOTE, "a": Do.ADD}


class ItemFlows:
    """Asks step by step. Escape at any step: nothing is written. Nothing comes into service by itself."""

    def __init__(self, answering: Answering) -> None:
        self._asking = answering.asking
        self._who_first = answering.signing.who

    def begin(self, do: Do, item: ItemView | None) -> None:
        """Do what a key asks for, for an item; a new one needs none."""
        if not self._asking.session.store.link.commands_allowed:
            self._asking.tell(
                say("Not live: the equipment cannot be written down from here. Write it on paper."), True
            )
        elif self._asking.people.name is None:
            self._who_first(lambda: self.begin(do, item))
        elif do is Do.ADD:
            self._add()
        elif item is not None:
            {
                Do.CHECK: self._check,
                Do.MOVE: self._move,
                Do.QUARANTINE: self._quarantine,
                Do.RETURN: self._return,
                Do.NOTE: self._note,
            }[do](item)

    # -- check, quarantine, back in service -------------------------------------------------------------------

    def _check(self, item: ItemView) -> None:
        if self._is_over(item):
            return
        if item.state is ItemState.QUARANTINED:
            self._asking.tell(
                say("{id} is in quarantine: a check does not end that. S: service again.", id=item.id), True
            )
            return
        choices = [Choice("fine", say("Nothing found"), "1")]
        if item.of is ItemKind.CIRCUIT:
            choices.append(Choice("primed", say("Nothing found, primed now"), "2"))
        choices.append(Choice("fault", say("Something is wrong"), "f"))

        def answer(found: str) -> None:
            if found == "fault":
                self._asking.words(say("{id}: what is wrong?", id=item.id), _FAULTS, fault, label=say("Fault"))
            else:
                self._charge(item, lambda charge: fine(charge, found == "primed"))

        def fault(why: str) -> None:
            self._asking.send(CheckItem(**self._asking.who(), item=item.id, fault=why))

        def fine(charge: int | None, primed: bool) -> None:
            self._asking.send(CheckItem(**self._asking.who(), item=item.id, charge=charge, primed=primed))

        self._asking.choose(
            say("{id} checked", id=item.id), tuple(choices), answer, say("What is found wrong is its quarantine.")
        )

    def _quarantine(self, item: ItemView) -> None:
        if self._is_over(item):
            return

        def give(why: str) -> None:
            self._asking.send(QuarantineItem(**self._asking.who(), item=item.id, reason=why))

        self._asking.words(say("{id} must not be used: why?", id=item.id), _FAULTS, give)

    def _return(self, item: ItemView) -> None:
        if item.state is not ItemState.QUARANTINED:
            self._asking.tell(say("{id} is not in quarantine.", id=item.id), False)
            return
        name = self._asking.session.store.label(self._asking.people.name)

        def done(what: str) -> None:
            self._charge(item, lambda charge: sure(what, charge))

        def sure(what: str, charge: int | None) -> None:
            choices = (Choice("", say("I checked it myself, at the item"), "y"),)
            title = say("{id} back in service, checked by {name}", id=item.id, name=name)
            note = say(
                "It was in quarantine: {why}. Done: {what}. Nothing else brings it back.", why=item.why, what=what
            )
            self._asking.choose(title, choices, lambda _: give(what, charge), note)

        def give(what: str, charge: int | None) -> None:
            self._asking.send(ReturnItem(**self._asking.who(), item=item.id, reason=what, charge=charge))

        self._asking.words(
            say("{id} back in service: what was done?", id=item.id), _DONE, done, label=say("What was done")
        )

    def _charge(self, item: ItemView, then: Callable[[int | None], None]) -> None:
        if item.charged_from is None:
            then(None)
            return
        unknown = {"none": (Choice("none", say("Not read"), "n"), lambda: then(None))}
        note = say("Ready from {charged_from} %.", charged_from=item.charged_from)
        self._asking.number(say("{id}: charge", id=item.id), _CHARGE, lambda read: then(round(read)), unknown, note)

    # -- where it is ------------------------------------------------------------------------------------------

    def _move(self, item: ItemView) -> None:
        if self._is_over(item):
            return
        usual = tuple(Choice(place, place) for place in self._places() if place != item.place)
        bed = Choice(_AT_BED, say("At a bed"), "b", self._why_no_bed(item))
        choices = (*usual, bed, Choice(_OTHER, say("Other place: type it"), "o"))

        def answer(place: str) -> None:
            if place == _AT_BED:
                self._to_bed(item)
            elif place == _OTHER:
                self._asking.text(say("{id} is now", id=item.id), say("Place"), give)
            else:
                give(place)

        def give(place: str) -> None:
            if self._fits(place):
                self._asking.send(PlaceItem(**self._asking.who(), item=item.id, place=place))

        off = say("It comes off the run at {bed}. ", bed=item.bed) if item.slot is not None else ""
        self._asking.choose(
            say("{id} is now", id=item.id), choices, answer, say("{off}Write down where it is.", off=off)
        )

    def _to_bed(self, item: ItemView) -> None:
        store = self._asking.session.store

        def beside(bed: str) -> None:
            tile = store.tiles.get(bed)
            if tile is None or not tile.runs:
                give(bed, None)
                return
            runs = {str(run.description.slot): run for run in tile.runs}
            on = tuple(
                Choice(slot, say("On the run: {run_label}", run_label=run_label(run)), slot)
                for slot, run in runs.items()
            )
            choices = (Choice("", say("Beside {bed}", bed=bed), "b"), *on)
            self._asking.choose(
                say("{id} at {bed}", id=item.id, bed=bed),
                choices,
                lambda slot: give(bed, int(slot) if slot else None),
            )

        def give(bed: str, slot: int | None) -> None:
            self._asking.send(PlaceItem(**self._asking.who(), item=item.id, bed=bed, slot=slot))

        beds = tuple(Choice(bed, bed) for bed in store.beds())
        self._asking.choose(say("{id}: at which bed?", id=item.id), beds, beside)

    @staticmethod
    def _why_no_bed(item: ItemView) -> str:
        quarantined = item.state is ItemState.QUARANTINED
        return (
            say("{id} is in quarantine and goes to no bed: {why}", id=item.id, why=item.why) if quarantined else ""
        )

    def _places(self) -> list[str]:
        """The places where items are now, the fullest first; where something was used up is none."""
        found = Counter(
            one.place for one in self._equipment.items if one.bed is None and one.state is not ItemState.USED
        )
        return [place for place, _ in found.most_common(12)]

    def _fits(self, place: str) -> bool:
        if len(place) > _MOST_PLACE:
            self._asking.tell(
                say("A place has at most {most_place} characters. Nothing was sent.", most_place=_MOST_PLACE), True
            )
        return len(place) <= _MOST_PLACE

    # -- note, new item ---------------------------------------------------------------------------------------

    def _note(self, item: ItemView) -> None:
        def give(note: str) -> None:
            self._asking.send(NoteItem(**self._asking.who(), item=item.id, note=note))

        self._asking.text(say("{id}: note", id=item.id), say("Note"), give)

    def _add(self) -> None:
        self._asking.text(say("A new item: what is written on it?"), say("Letters, digits, hyphens"), self._named)

    def _named(self, name: str) -> None:
        if not _NAME.fullmatch(name):
            self._asking.tell(
                say("{name}: 1 to 16 letters, digits and hyphens. Nothing was sent.", name=name), True
            )
            return
        kinds = tuple(Choice(kind, kind_words(kind)) for kind in ItemKind)
        note = say("A new item is to be checked before it counts.")
        self._asking.choose(
            say("{name}: what is it?", name=name), kinds, lambda kind: self._of(name, ItemKind(kind)), note
        )

    def _of(self, name: str, kind: ItemKind) -> None:
        if kind not in _BY_PUMP:
            self._placed(name, kind, None, ())
            return
        tiles = self._asking.session.store.tiles.values()
        used = {run.description.profile for tile in tiles for run in tile.runs}
        known = sorted(used | {one.profile for one in self._equipment.items if one.profile})
        choices = (*(Choice(one, one) for one in known), Choice("", say("Any pump"), "0"))

        def profile(chosen: str) -> None:
            if kind is ItemKind.CIRCUIT:
                self._supports(name, chosen or None)
            else:
                self._placed(name, kind, chosen or None, ())

        self._asking.choose(say("{name}: for which pump?", name=name), choices, profile)

    def _supports(self, name: str, profile: str | None) -> None:
        ticks = Ticks(self._asking.now)
        choices = tuple(Choice(one, say(SUPPORT_LABEL[one])) for one in Support)

        def done() -> None:
            self._placed(name, ItemKind.CIRCUIT, profile, tuple(Support(one) for one in ticks.at))

        note = say("None ticked: it fits all of them.")
        self._asking.ticks(say("{name}: for which supports?", name=name), choices, ticks, done, note)

    def _placed(self, name: str, kind: ItemKind, profile: str | None, supports: tuple[Support, ...]) -> None:
        def give(place: str) -> None:
            if not self._fits(place):
                return
            who = self._asking.who()
            self._asking.send(AddItem(**who, item=name, of=kind, place=place, supports=supports, profile=profile))

        self._asking.words(say("{name}: where is it?", name=name), tuple(self._places()), give, label=say("Place"))

    # -- what all share ---------------------------------------------------------------------------------------

    def _is_over(self, item: ItemView) -> bool:
        if item.state is ItemState.USED:
            self._asking.tell(say("{id} was used on a run and serves no other.", id=item.id), False)
        return item.state is ItemState.USED

    @property
    def _equipment(self) -> EquipmentView:
        unit = self._asking.session.store.unit
        return unit.equipment if unit is not None else EquipmentView()
