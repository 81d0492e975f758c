"""Who sits at this desk. Names are chosen from the roster; whether a secret is asked for, the hub says."""

from monitor.desk.question import Choice
from monitor.desk.store import Store
from shared.language.saying import say, to_say

NOTE = to_say(
    "Names are not checked by a secret here. What you answer is written down under the name you choose here."
)
CHECKED = to_say("Your secret is asked for next. What you answer is written down under your name.")


class People:
    """The person signed in at this desk, and the roster to choose from."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._name: str | None = None

    @property
    def name(self) -> str | None:
        """The roster name of who is signed in; ``None`` when nobody is, or when the roster no longer has them."""
        if self._name is not None and self._store.person(self._name) is None:
            self._name = None
        return self._name

    def sign_in(self, name: str) -> None:
        """Sign a person of the roster in; an unknown name signs nobody in."""
        self._name = name if self._store.person(name) is not None else None

    def sign_out(self) -> None:
        """Forget who sits here."""
        self._name = None

    def asks(self, name: str) -> bool:
        """Tell whether the hub wants a secret for a name."""
        unit = self._store.unit
        return unit is not None and unit.sign_in is not None and name in unit.sign_in.asks

    def note(self) -> str:
        """Say under the names whether they are checked."""
        unit = self._store.unit
        sign_in = unit.sign_in if unit is not None else None
        if sign_in is not None and sign_in.fault:
            return say("Names are not checked now: {fault}", fault=sign_in.fault)
        return say(NOTE) if sign_in is None or not sign_in.asks else say(CHECKED)

    def words(self) -> str:
        """Say who acts here: ``You are: Charge 2``."""
        name = self.name
        return (
            say("You are: {name} · U", name=self._store.label(name))
            if name is not None
            else say("Nobody signed in · U")
        )

    def choices(self, bed: str = "") -> tuple[Choice, ...]:
        """Give the people who can act: the nurse of ``bed`` first, then those on cover."""
        unit = self._store.unit
        if unit is None:
            return ()
        tile = self._store.tiles.get(bed)
        on_cover = [tile.nurse if tile is not None else None]
        on_cover += [cover.person for cover in unit.cover if cover.rung > 1] + [unit.deputy]
        able = [person for person in unit.people if not person.looks_on]
        places: dict[str, int] = {}
        for place, name in enumerate(on_cover):
            if name is not None:
                places.setdefault(name, place)
        able.sort(key=lambda person: (places.get(person.name, len(places)), natural(person.label)))
        return tuple(Choice(person.name, person.label) for person in able)


def natural(label: str) -> tuple[str, int]:
    """Give what sorts ``Nurse 2`` before ``Nurse 10``."""
    head = label.rstrip("0123456789")
    tail = label[len(head) :]
    return head, int(tail) if tail else 0
