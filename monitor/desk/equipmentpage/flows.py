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
from shared.support import SUPPORT_LABEL, Support

_CHARGE = NumberField("Charge", "%", 0, 100, 0)
_NAME = re.compile(r"[A-Za-z0-9-]{1,16}")
_MOST_PLACE = 40
_OTHER, _AT_BED = "other place", "at a bed"
#: What is found, and what was done about it (common practice, no source).
_FAULTS = ("Alarm or self-test failed", "Battery", "Noise or heat", "Leak or crack", "Part missing", "Dropped")
_DONE = ("Repaired, tested", "Part changed, tested", "Tested, nothing found")
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
            self._asking.tell("Not live: the equipment cannot be written down from here. Write it on paper.", True)
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
            self._asking.tell(f"{item.id} is in quarantine: a check does not end that. S: service again.", True)
            return
        choices = [Choice("fine", "Nothing found", "1")]
        if item.of is ItemKind.CIRCUIT:
            choices.append(Choice("primed", "Nothing found, primed now", "2"))
        choices.append(Choice("fault", "Something is wrong", "f"))

        def answer(found: str) -> None:
            if found == "fault":
                self._asking.words(f"{item.id}: what is wrong?", _FAULTS, fault, label="Fault")
            else:
                self._charge(item, lambda charge: fine(charge, found == "primed"))

        def fault(why: str) -> None:
            self._asking.send(CheckItem(**self._asking.who(), item=item.id, fault=why))

        def fine(charge: int | None, primed: bool) -> None:
            self._asking.send(CheckItem(**self._asking.who(), item=item.id, charge=charge, primed=primed))

        self._asking.choose(f"{item.id} checked", tuple(choices), answer, "What is found wrong is its quarantine.")

    def _quarantine(self, item: ItemView) -> None:
        if self._is_over(item):
            return

        def give(why: str) -> None:
            self._asking.send(QuarantineItem(**self._asking.who(), item=item.id, reason=why))

        self._asking.words(f"{item.id} must not be used: why?", _FAULTS, give)

    def _return(self, item: ItemView) -> None:
        if item.state is not ItemState.QUARANTINED:
            self._asking.tell(f"{item.id} is not in quarantine.", False)
            return
        name = self._asking.session.store.label(self._asking.people.name)

        def done(what: str) -> None:
            self._charge(item, lambda charge: sure(what, charge))

        def sure(what: str, charge: int | None) -> None:
            choices = (Choice("", "I checked it myself, at the item", "y"),)
            title = f"{item.id} back in service, checked by {name}"
            note = f"It was in quarantine: {item.why}. Done: {what}. Nothing else brings it back."
            self._asking.choose(title, choices, lambda _: give(what, charge), note)

        def give(what: str, charge: int | None) -> None:
            self._asking.send(ReturnItem(**self._asking.who(), item=item.id, reason=what, charge=charge))

        self._asking.words(f"{item.id} back in service: what was done?", _DONE, done, label="What was done")

    def _charge(self, item: ItemView, then: Callable[[int | None], None]) -> None:
        if item.charged_from is None:
            then(None)
            return
        unknown = {"none": (Choice("none", "Not read", "n"), lambda: then(None))}
        note = f"Ready from {item.charged_from} %."
        self._asking.number(f"{item.id}: charge", _CHARGE, lambda read: then(round(read)), unknown, note)

    # -- where it is ------------------------------------------------------------------------------------------

    def _move(self, item: ItemView) -> None:
        if self._is_over(item):
            return
        usual = tuple(Choice(place, place) for place in self._places() if place != item.place)
        bed = Choice(_AT_BED, "At a bed", "b", self._why_no_bed(item))
        choices = (*usual, bed, Choice(_OTHER, "Other place: type it", "o"))

        def answer(place: str) -> None:
            if place == _AT_BED:
                self._to_bed(item)
            elif place == _OTHER:
                self._asking.text(f"{item.id} is now", "Place", give)
            else:
                give(place)

        def give(place: str) -> None:
            if self._fits(place):
                self._asking.send(PlaceItem(**self._asking.who(), item=item.id, place=place))

        off = f"It comes off the run at {item.bed}. " if item.slot is not None else ""
        self._asking.choose(f"{item.id} is now", choices, answer, f"{off}Write down where it is.")

    def _to_bed(self, item: ItemView) -> None:
        store = self._asking.session.store

        def beside(bed: str) -> None:
            tile = store.tiles.get(bed)
            if tile is None or not tile.runs:
                give(bed, None)
                return
            runs = {str(run.description.slot): run for run in tile.runs}
            on = tuple(Choice(slot, f"On the run: {run_label(run)}", slot) for slot, run in runs.items())
            choices = (Choice("", f"Beside {bed}", "b"), *on)
            self._asking.choose(f"{item.id} at {bed}", choices, lambda slot: give(bed, int(slot) if slot else None))

        def give(bed: str, slot: int | None) -> None:
            self._asking.send(PlaceItem(**self._asking.who(), item=item.id, bed=bed, slot=slot))

        beds = tuple(Choice(bed, bed) for bed in store.beds())
        self._asking.choose(f"{item.id}: at which bed?", beds, beside)

    @staticmethod
    def _why_no_bed(item: ItemView) -> str:
        quarantined = item.state is ItemState.QUARANTINED
        return f"{item.id} is in quarantine and goes to no bed: {item.why}" if quarantined else ""

    def _places(self) -> list[str]:
        """The places where items are now, the fullest first; where something was used up is none."""
        found = Counter(
            one.place for one in self._equipment.items if one.bed is None and one.state is not ItemState.USED
        )
        return [place for place, _ in found.most_common(12)]

    def _fits(self, place: str) -> bool:
        if len(place) > _MOST_PLACE:
            self._asking.tell(f"A place has at most {_MOST_PLACE} characters. Nothing was sent.", True)
        return len(place) <= _MOST_PLACE

    # -- note, new item ---------------------------------------------------------------------------------------

    def _note(self, item: ItemView) -> None:
        def give(note: str) -> None:
            self._asking.send(NoteItem(**self._asking.who(), item=item.id, note=note))

        self._asking.text(f"{item.id}: note", "Note", give)

    def _add(self) -> None:
        self._asking.text("A new item: what is written on it?", "Letters, digits, hyphens", self._named)

    def _named(self, name: str) -> None:
        if not _NAME.fullmatch(name):
            self._asking.tell(f"{name}: 1 to 16 letters, digits and hyphens. Nothing was sent.", True)
            return
        kinds = tuple(Choice(kind, kind_words(kind)) for kind in ItemKind)
        note = "A new item is to be checked before it counts."
        self._asking.choose(f"{name}: what is it?", kinds, lambda kind: self._of(name, ItemKind(kind)), note)

    def _of(self, name: str, kind: ItemKind) -> None:
        if kind not in _BY_PUMP:
            self._placed(name, kind, None, ())
            return
        tiles = self._asking.session.store.tiles.values()
        used = {run.description.profile for tile in tiles for run in tile.runs}
        known = sorted(used | {one.profile for one in self._equipment.items if one.profile})
        choices = (*(Choice(one, one) for one in known), Choice("", "Any pump", "0"))

        def profile(chosen: str) -> None:
            if kind is ItemKind.CIRCUIT:
                self._supports(name, chosen or None)
            else:
                self._placed(name, kind, chosen or None, ())

        self._asking.choose(f"{name}: for which pump?", choices, profile)

    def _supports(self, name: str, profile: str | None) -> None:
        ticks = Ticks(self._asking.now)
        choices = tuple(Choice(one, SUPPORT_LABEL[one]) for one in Support)

        def done() -> None:
            self._placed(name, ItemKind.CIRCUIT, profile, tuple(Support(one) for one in ticks.at))

        note = "None ticked: it fits all of them."
        self._asking.ticks(f"{name}: for which supports?", choices, ticks, done, note)

    def _placed(self, name: str, kind: ItemKind, profile: str | None, supports: tuple[Support, ...]) -> None:
        def give(place: str) -> None:
            if not self._fits(place):
                return
            who = self._asking.who()
            self._asking.send(AddItem(**who, item=name, of=kind, place=place, supports=supports, profile=profile))

        self._asking.words(f"{name}: where is it?", tuple(self._places()), give, label="Place")

    # -- what all share ---------------------------------------------------------------------------------------

    def _is_over(self, item: ItemView) -> bool:
        if item.state is ItemState.USED:
            self._asking.tell(f"{item.id} was used on a run and serves no other.", False)
        return item.state is ItemState.USED

    @property
    def _equipment(self) -> EquipmentView:
        unit = self._asking.session.store.unit
        return unit.equipment if unit is not None else EquipmentView()
