"""One size of a bench: its processes, one after the other, and what was measured of them.

While a hub or a floor is measured nothing else of the bench runs. What is measured by processor time alone (the
rehearsal), or not at all (the record of the hours before), is made beforehand, side by side.
"""

import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from monitor.cli.benching.clock import now_ns
from monitor.cli.benching.figures import Burden, Drawn, Glass, Loop, Opened, Rehearsed, Size
from monitor.cli.benching.past import PAST_BEDS
from monitor.cli.benching.processes import cpu_s, load, memory_mb
from monitor.cli.benching.review import ask_as_review
from monitor.cli.benching.talking import Talking, compile_all
from monitor.cli.benching.unit import make_unit
from monitor.cli.ports import free_endpoints
from monitor.core.endpoints import Endpoints

_HERE = "monitor.cli.benching"
_S, _MS = 1_000_000_000, 1_000_000
_PATIENCE_S = 60.0
_LONG_PATIENCE_S = 900.0
#: What has just begun is left alone for so long; a desk for longer, for it loads its bed pages after the board.
_SETTLE_S, _OPENED_S = 1.0, 4.0
#: What was sent last is given so long to be painted, and a window so long to show the very first.
_LINGER_S = 5.0
_LOOK_S = 0.2
#: All beds in one moment: at most so many seconds.
_TOGETHER_S = 3.0
#: pyqtgraph's tiles are tried with so many beds at most: with more they do not keep up with themselves.
PLOTS_AT_MOST = 64
#: Beds of a rehearsal, and minutes of it where it is not played whole.
REHEARSED_BEDS, REHEARSED_MINUTES = 24, 3


@dataclass(frozen=True, slots=True)
class Asked:
    """What is to be measured.

    Attributes:
        rehearse_minutes: of all beds of a rehearsal; 0: there is none.
        day_hours: of the first bed, at 1 Hz in the record, for a review.
    """

    beds: int
    seconds: float
    rehearse_minutes: int
    day_hours: int = 24


def screen_for(beds: int) -> tuple[int, int]:
    """Give the window in pixels: a full screen of 1920 x 1080, or of twice that where the beds do not fit."""
    return (1920, 1080) if beds <= PAST_BEDS else (3840, 2160)


def measure(asked: Asked, folder: Path, tell: Callable[[str], None]) -> Size:
    """Measure one size in an empty folder.

    Args:
        tell: is told what is being done.

    Raises:
        OurError: a process of the bench failed.
        ConfigurationError, RecordError: the machine has no room, or no port.
    """
    before = load()
    compile_all()
    rehearsed = _prepare(asked, folder, tell)
    product = _Product(asked, folder, tell)
    measured = product.measure()
    page, size = measured["page"], screen_for(asked.beds)
    half, quarter = max(3.0, asked.seconds / 2), max(3.0, asked.seconds / 4)
    tell(f"the floor, {half:g} s")
    floor = _loop("bare", page, size, half, folder)
    plots = None
    if asked.beds <= PLOTS_AT_MOST:
        tell(f"tiles of pyqtgraph, {quarter:g} s")
        plots = _loop("plot", page, size, quarter, folder)
    return Size(beds=asked.beds, floor=floor, plots=plots, rehearsed=rehearsed, load=(before, load()), **measured)


def _prepare(asked: Asked, folder: Path, tell: Callable[[str], None]) -> Rehearsed | None:
    """Make the unit and its record of the hours before; rehearse meanwhile."""
    now = time.time_ns() // _MS
    make_unit(asked.beds, free_endpoints(), folder / "unit", now)
    past = [f"{_HERE}.past", str(folder / "unit"), str(folder / "record.db")]
    past += [str(now), str(asked.day_hours)]
    if not asked.rehearse_minutes:
        tell("the hours before")
        with Talking("record of the hours before", past, folder / "past.log") as writing:
            writing.line(_LONG_PATIENCE_S)
        return None
    tell(f"the hours before; a rehearsal of {REHEARSED_BEDS} beds, {asked.rehearse_minutes} min")
    make_unit(REHEARSED_BEDS, Endpoints(), folder / "rehearsed", now, asked.rehearse_minutes)
    play = [f"{_HERE}.rehearsing", str(folder / "rehearsed")]
    with (
        Talking("record of the hours before", past, folder / "past.log") as writing,
        Talking("rehearsal", play, folder / "rehearsal.log") as playing,
    ):
        writing.line(_LONG_PATIENCE_S)
        cpu = playing.told(_LONG_PATIENCE_S)["cpu_s"]
    return Rehearsed(REHEARSED_BEDS * asked.rehearse_minutes / 60, cpu)


class _Product:
    """Feed, hub and desk of one size."""

    def __init__(self, asked: Asked, folder: Path, tell: Callable[[str], None]) -> None:
        self._asked, self._folder, self._tell = asked, folder, tell
        self._endpoints = free_endpoints()

    def measure(self) -> dict[str, Any]:
        """Give the fields of a `Size` that are the product's own."""
        seconds, folder, ends = self._asked.seconds, self._folder, self._endpoints
        self._tell("the hub")
        words = ["monitor", "hub", "--config", str(folder / "unit"), "--record", str(folder / "record.db")]
        words += [f"--{room}={address}" for room, address in ends.model_dump().items()]
        with Talking("hub", words, folder / "hub.log") as hub:
            hub.line(_PATIENCE_S)
            hub_start = (now_ns() - hub.started) / _MS
            lasts = int(seconds + _TOGETHER_S + 30)
            feed_words = [f"{_HERE}.bedside", str(folder / "unit"), str(lasts), ends.ingest, ends.link]
            with Talking("feed", feed_words, folder / "feed.log") as feed:
                feed.told(_PATIENCE_S)
                _let_run(_SETTLE_S)
                with Talking("desk", self._desk_words(), folder / "desk.log") as desk:
                    return self._with_all(hub, feed, desk) | {"hub_start_ms": hub_start}

    def _desk_words(self) -> list[str]:
        wide, high = screen_for(self._asked.beds)
        ends = self._endpoints
        words = [f"{_HERE}.desk", str(min(PAST_BEDS, self._asked.beds)), "--sound-checked", f"--size={wide}x{high}"]
        return [*words, f"--publish={ends.publish}", f"--commands={ends.commands}"]

    def _with_all(self, hub: Talking, feed: Talking, desk: Talking) -> dict[str, Any]:
        self._tell("the desk opens")
        opened = desk.told(_PATIENCE_S)
        _let_run(_OPENED_S)
        seconds = self._asked.seconds
        self._tell(f"each bed at its own moment, {seconds:g} s")
        since, burdens = now_ns(), _burdens((hub.pid, desk.pid), seconds)
        until = now_ns()
        short = min(_TOGETHER_S, seconds)
        self._tell(f"all beds in one moment, {short:g} s")
        feed.ask("together", _PATIENCE_S)
        begun = now_ns()
        _let_run(short)
        ended = now_ns()
        sent = feed.ask("sent", _PATIENCE_S)["sent"]
        spread, together = _within(sent, since, until), _within(sent, begun, ended)
        seen = _seen(desk, spread | together, opened["page"])
        repaint = desk.ask("repaint", _PATIENCE_S)
        self._tell("a review asks")
        asked = ask_as_review(self._endpoints.commands)
        return {
            "page": opened["page"],
            "past_beds": min(PAST_BEDS, self._asked.beds),
            "opened": Opened((opened["first"] - desk.started) / _MS, (opened["with_past"] - desk.started) / _MS),
            "spread": glass_of(spread, seen, opened["page"]),
            "together": glass_of(together, seen, opened["page"]),
            "hub": burdens[0],
            "desk": burdens[1],
            "repaint_ms": repaint["anew_ms"],
            "words_ms": repaint["words_ms"],
            "news_ms": repaint["news_ms"],
            "take_ms": repaint["take_ms"],
            "asked": asked,
        }


def _loop(kind: str, page: int, size: tuple[int, int], seconds: float, folder: Path) -> Loop:
    ingest = free_endpoints().ingest
    words = [f"{_HERE}.floor", kind, str(page), str(size[0]), str(size[1]), ingest]
    with Talking(f"floor ({kind})", words, folder / f"{kind}.log") as floor:
        made = floor.told(_PATIENCE_S)
        feed_words = [f"{_HERE}.bedside", str(folder / "unit"), str(int(seconds + 20)), ingest]
        with Talking("feed", feed_words, folder / "feed.log") as feed:
            feed.told(_PATIENCE_S)
            _wait(lambda: bool(floor.ask("glass", _PATIENCE_S)["painted"]))
            _let_run(_SETTLE_S)
            since, burdens = now_ns(), _burdens((floor.pid,), seconds)
            until = now_ns()
            sent = _within(feed.ask("sent", _PATIENCE_S)["sent"], since, until)
            seen = _seen(floor, sent, page)
        repaint = floor.ask("repaint", _PATIENCE_S)["anew_ms"]
    return Loop(glass_of(sent, seen, page), burdens[0], Drawn(page, made["start_ms"], repaint))


def _seen(window: Talking, sent: dict[tuple[str, int], int], page: int) -> dict[str, Any]:
    """Give what a window has painted, once all that was sent is there, or has been waited for long enough."""
    seen: dict[str, Any] = {}

    def all_there() -> bool:
        seen.update(window.ask("glass", _PATIENCE_S))
        return glass_of(sent, seen, page).lost == 0

    _wait(all_there)
    return seen


def _wait(is_so: Callable[[], bool]) -> None:
    until = time.monotonic() + _LINGER_S
    while not is_so() and time.monotonic() < until:
        _let_run(_LOOK_S)


def _let_run(seconds: float) -> None:
    """Do nothing: what is measured runs in other processes, and anything done here would be measured with it."""
    time.sleep(seconds)  # the hub and the desk under measurement tell nobody how far they are


def _burdens(pids: Iterable[int], seconds: float) -> list[Burden]:
    """Let some time pass; give what the processes took meanwhile, and hold at its end."""
    pids = list(pids)
    began, before = now_ns(), [cpu_s(pid) for pid in pids]
    _let_run(seconds)
    after, ended = [cpu_s(pid) for pid in pids], now_ns()
    shares = [100 * (late - early) * _S / (ended - began) for early, late in zip(before, after, strict=True)]
    return [Burden(share, *memory_mb(pid)) for share, pid in zip(shares, pids, strict=True)]


def _within(sent: list[list[Any]], since: int, until: int) -> dict[tuple[str, int], int]:
    return {(bed, read_at): at for bed, read_at, at in sent if since <= at < until}


def glass_of(sent: dict[tuple[str, int], int], seen: dict[str, Any], page: int) -> Glass:
    """Join what was sent with what was painted; beds beyond the first ``page`` are on no screen.

    Args:
        sent: moment by bed and time of reading.
        seen: ``painted``: bed, time of reading, moment; ``same``: bed, time of reading.
    """
    shown = {f"B{number}" for number in range(1, page + 1)}
    sent = {key: at for key, at in sent.items() if key[0] in shown}
    painted: dict[tuple[str, int], int] = {}
    for bed, read_at, at in seen["painted"]:
        painted.setdefault((bed, read_at), at)
    same = {(bed, read_at) for bed, read_at in seen["same"]} - painted.keys()
    ms = tuple((painted[key] - at) / _MS for key, at in sent.items() if key in painted)
    return Glass(ms, sum(key in same for key in sent), sum(key not in painted and key not in same for key in sent))
