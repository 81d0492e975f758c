"""The steps by which the pictures come about, in the order of a shift: the time, what is typed, what is kept.

In ``keys`` each character is a key; ⏎ is Enter, ⎋ Escape, → and ↓ the arrows.
"""

from dataclasses import dataclass

SMALL, LARGE = (1366, 768), (1920, 1080)
#: Where the README has its pictures, and the manual its own.
DESK, MANUAL = "monitor/desk/pictures", "monitor/manual/pictures"


@dataclass(frozen=True, slots=True)
class Step:
    """One step at the desk.

    Attributes:
        picture: the file that is written after it; empty: none.
        at: the second of the scenario that it becomes first; ``None``: no time passes.
        keys: what is typed then.
        waits: seconds that pass after the keys.
        rests_ms: real time besides, for what waits until keys rest.
        theme: the colours from now on.
        is_cut: from now on nothing passes between hub and desks.
        review: a review is opened first; from now on the steps are done there.
    """

    picture: str = ""
    at: float | None = None
    keys: str = ""
    waits: int = 0
    rests_ms: int = 0
    theme: str = ""
    size: tuple[int, int] = SMALL
    is_cut: bool | None = None
    review: bool = False


DAY = (
    Step(f"{MANUAL}/quiet_day.png", at=4),
    Step(f"{MANUAL}/who_day.png", keys="u"),
    Step(keys="cha⏎"),
    Step(f"{MANUAL}/first_needs_day.png", at=62),
    Step(f"{DESK}/board_day.png", at=200, size=LARGE),
    Step(f"{DESK}/board_night.png", theme="night", size=LARGE),
    Step(f"{MANUAL}/board_night.png"),
    Step(f"{MANUAL}/far_day.png", theme="day", keys="f"),
    Step(keys="f6"),
    Step(f"{MANUAL}/take_day.png", keys="t"),
    Step(f"{MANUAL}/voice_day.png", keys="v"),
    Step(f"{MANUAL}/held_day.png", keys="1b1", waits=3),
    Step(f"{MANUAL}/help_day.png", keys="1hh"),
    Step(keys="⎋", waits=3),
    Step(f"{DESK}/bed_day.png", keys="2⏎", waits=6, size=LARGE),
    Step(keys="⎋", waits=3),
    Step(f"{MANUAL}/bed_small_day.png", keys="2⏎", waits=6),
    Step(f"{MANUAL}/bed_small_night.png", theme="night"),
    Step(theme="day", keys="⎋", waits=3),
    Step(f"{MANUAL}/write_down_day.png", keys="1m"),
    Step(f"{MANUAL}/order_day.png", keys="o1"),
    Step(f"{MANUAL}/transport_day.png", keys="⎋mt"),
    Step(f"{MANUAL}/trial_day.png", keys="⎋ma"),
    Step(f"{MANUAL}/roster_day.png", keys="⎋r"),
    Step(f"{MANUAL}/due_day.png", keys="⎋o"),
    Step(f"{MANUAL}/sweep_day.png", keys="⎋v"),
    Step(f"{DESK}/cards_day.png", keys="⎋x↓↓", waits=2, size=LARGE),
    Step(f"{MANUAL}/offer_day.png", keys="o"),
    Step(f"{DESK}/equipment_day.png", keys="⎋⎋b", rests_ms=1500, waits=1, size=LARGE),
    Step(f"{DESK}/load_day.png", keys="⎋l", waits=2, size=LARGE),
    Step(f"{MANUAL}/pages_day.png", keys="⎋p"),
    Step(f"{MANUAL}/emergency_day.png", keys="⎋e"),
    Step(f"{MANUAL}/card_day.png", keys="1"),
    Step(f"{MANUAL}/keys_day.png", keys="⎋⎋⎋?"),
    Step(keys="⎋"),
    Step(keys="u2", waits=12, review=True),
    Step(f"{DESK}/review_day.png", waits=1),
    Step(f"{DESK}/review_bed_day.png", keys="↓⏎", waits=22),
    Step(f"{MANUAL}/call_back_day.png", keys="a"),
    Step(f"{MANUAL}/not_live_day.png", keys="⎋⎋j", is_cut=True, waits=20),
    Step(f"{MANUAL}/not_live_night.png", theme="night"),
)
NIGHT = (
    Step(f"{DESK}/entry_night.png", at=553 * 60 + 4, size=LARGE),
    Step(f"{DESK}/entry_bed_day.png", theme="day", keys="5⏎", waits=6, size=LARGE),
)
#: The sheet of marks, by theme.
MARKS = {theme: f"{MANUAL}/marks_{theme}.png" for theme in ("day", "night")}
