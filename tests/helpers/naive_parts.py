"""What a naive unit is made of: alerts, takes, episodes, and who explains whom. Times are whole seconds."""

from dataclasses import dataclass, field

from tests.helpers import naive_ladder as ladder
from tests.helpers.naive_ladder import Mark
from tests.helpers.naive_rules import HELP, ROWS, Row

FLOW, INLET = ("flow_low", "flow_very_low", "flow_floor", "flow_none"), ("inlet_low", "inlet_very_low")
MAP_LOW, SPO2 = ("map_low", "map_very_low"), ("spo2_low", "spo2_very_low")
RETURN = ("return_high", "return_very_high")
PHYSIOLOGICAL = tuple(row.rule for row in (*ROWS, HELP) if not row.technical)

#: Who explains whom: causes, whether they explain each other, and what else they explain.
EXPLAINS: tuple[tuple[tuple[str, ...], bool, tuple[str, ...]], ...] = (
    (("pump_stopped", "help"), False, PHYSIOLOGICAL),
    ((*FLOW, *INLET), True, (*MAP_LOW, *SPO2)),
    (RETURN, True, (*FLOW, *MAP_LOW)),
    (("map_high",), False, ("flow_low", "flow_very_low", *RETURN)),
    (MAP_LOW, True, ()),
    (SPO2, True, ()),
    (("battery_short", "battery_critical", "on_battery_long"), True, ()),
)
#: A further full step beyond the value at the take: quantity -> step.
STEPS = {"pump_flow": -0.5, "inlet_pressure": -20, "post_oxygenator_pressure": 40, "spo2_right_hand": -4}
STEPS["mean_arterial_pressure"] = -8
RANK = {"high": 0, "medium": 1, "low": 2}
HOLD = {"high": 180, "medium": 900, "low": 3600}


def explains(cause: str, effect: str) -> bool:
    """Tell whether a rule explains another."""
    return cause != effect and any(
        cause in causes and (effect in more or (each_other and effect in causes))
        for causes, each_other, more in EXPLAINS
    )


@dataclass
class Alert:
    id: int
    row: Row
    bed: str | None
    at: int
    latching: bool
    episode: "Episode | None" = None
    signal: str = "raised"
    ended: bool = False
    rung: int = 0

    @property
    def listed(self) -> bool:
        return self.signal in ("raised", "seen", "taken", "latched")


@dataclass
class TakeMade:
    """A take, and when it was over; ``values``: what stood then, and whether worse is up."""

    person: str
    at: int
    until: int
    team: bool
    values: dict[tuple[str, bool], float]
    renewals: int = 0
    over: bool = False


@dataclass(frozen=True)
class Word:
    """What befell an episode that touches who is waited for, in order: the person, and what."""

    at: int
    person: str
    what: str


@dataclass
class Episode:
    id: int
    bed: str | None
    members: list[Alert] = field(default_factory=list)
    history: list[Mark] = field(default_factory=list)
    takes: list[TakeMade] = field(default_factory=list)
    closes: int | None = None
    witnesses: int = 0
    usual: tuple[float | None, float | None] | None = None
    words: list[Word] = field(default_factory=list)

    @property
    def present(self) -> list[Alert]:
        return [alert for alert in self.members if not alert.ended]

    @property
    def holder(self) -> TakeMade | None:
        """Whoever took it last and has not lost it; ``None``: nobody has it."""
        return next((take for take in reversed(self.takes) if not take.over), None)

    @property
    def priority(self) -> str:
        return min((alert.row.priority for alert in self.present), key=RANK.__getitem__)

    @property
    def row(self) -> str:
        return ladder.read(self.history).row

    def said(self, at: int, person: str, what: str) -> None:
        self.words.append(Word(at, person, what))

    def helps(self, person: str) -> bool:
        """Whether somebody's last word of it is that they help."""
        own = [w.what for w in self.words if w.person == person and w.what in ("helps", "cannot")]
        return own[-1:] == ["helps"]

    def waited_for(self) -> list[tuple[int, str]]:
        """Give whose answer is waited for, and since when they have seen it."""
        waiting: dict[str, int] = {}
        for word in self.words:
            if word.what == "seen":
                waiting.setdefault(word.person, word.at)
            elif word.what in ("helps", "cannot", "no answer"):
                waiting.pop(word.person, None)
            elif word.what == "all anew":
                waiting.clear()
        return [(at, person) for person, at in waiting.items()]

    def is_asked(self, person: str) -> bool:
        """Whether somebody was called, as the perfusionist, and has said nothing of it since that call."""
        calls = [word for word in self.words if word.what == "called"]
        if not calls or calls[-1].person != person or self.helps(person):
            return False
        anew = max((place for place, word in enumerate(self.words) if word.what == "all anew"), default=-1)
        own = [word for word in self.words[anew + 1 :] if word.person == person and word.what in ("seen", "cannot")]
        return all(word.at < calls[-1].at for word in own) and person not in [
            waited for _, waited in self.waited_for()
        ]
