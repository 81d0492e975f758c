"""What the engine shows, behind a wall: a view that cannot be made stays as it was, and no other suffers."""

import logging
from collections.abc import Callable

from monitor.core.entries import Entry
from monitor.core.meaning.news import BedNews, looked_at, news_of
from monitor.core.meaning.view import Meaning
from monitor.core.view import ConfiguredView, PageView, SheetView, SignInView, TileView, UnitView
from monitor.hub.clock import HubClock
from monitor.hub.judge import Judge
from shared.instant import HOUR, Instant

log = logging.getLogger(__name__)

#: Changes of the configuration are told to who takes over for so long.
_CHANGES_TOLD_MS = 14 * 24 * HOUR


class Views:
    """Makes views; the unit's is completed by what only the hub knows.

    Attributes:
        defects: views that could not be made; more than 0 is a defect of ours.
    """

    def __init__(
        self,
        judge: Judge,
        clock: HubClock,
        not_recorded: Callable[[], Instant | None],
        pages: Callable[[], tuple[PageView, ...]] = tuple,
        sign_in: Callable[[], SignInView | None] = lambda: None,
        configured: tuple[ConfiguredView, ...] = (),
        sheet: Callable[[], SheetView | None] = lambda: None,
    ) -> None:
        self.defects = 0
        self._judge = judge
        self._clock = clock
        self._not_recorded = not_recorded
        self._pages = pages
        self._sign_in = sign_in
        self._configured = configured
        self._sheet = sheet
        self._tiles: dict[str, TileView] = {}
        self._unit = judge.engine.unit(clock.now())
        self._whole: tuple[UnitView, dict[str, object], UnitView] | None = None

    def tile(self, bed: str, now: Instant) -> TileView | None:
        """Give a bed as it stands. If that fails: as it last stood, its last reading growing older; or nothing."""
        try:
            self._tiles[bed] = self._judge.engine.tile(bed, now)
        except Exception:  # a defect of ours costs this bed its new view and no other bed's: its age goes on
            self._failed(bed)
        return self._tiles.get(bed)

    def unit(self, now: Instant) -> UnitView:
        """Give what belongs to no bed."""
        try:
            self._unit = self._judge.engine.unit(now)
        except Exception:  # a defect of ours costs the header its news: the beds and the calls go on
            self._failed("the unit")
        own: dict[str, object] = {
            "demonstration": self._clock.is_demonstration,
            "not_recorded": self._not_recorded(),
            "speed": self._clock.speed,
            "pages": self._pages(),
            "sign_in": self._sign_in(),
            "sheet": self._sheet(),
            "configured": tuple(one for one in self._configured if now - one.at <= _CHANGES_TOLD_MS),
        }
        whole = self._whole
        if whole is None or whole[0] is not self._unit or whole[1] != own:
            whole = self._whole = self._unit, own, self._unit.model_copy(update=own)
        return whole[2]

    def sign_in(self) -> SignInView | None:
        """Give what must be known of signing in; ``None``: nobody is asked for a secret."""
        return self._sign_in()

    def meaning(self, bed: str, slot: int, person: str | None) -> Meaning | None:
        """Give what the numbers of a run mean now; ``None`` where there is no such run, or where that fails."""
        try:
            return self._judge.engine.meaning(bed, slot, person, self._clock.now())
        except Exception:  # a defect of ours costs this answer: the watch over the beds goes on
            self._failed(f"what the numbers of {bed} mean")
            return None

    def news(self, person: str, entries: Callable[[str], list[Entry]]) -> tuple[BedNews, ...]:
        """Give what is new to a person at every bed with a run; a bed at which that fails is left out."""
        found, now = [], self._clock.now()
        for bed in self._unit.beds:
            try:
                looked = self._judge.engine.looked(bed, person, now)
                entries_of = entries(bed) if looked_at(looked) is not None else []
                found += [news_of(bed, looked, entries_of)] if looked else []
            except Exception:  # a defect of ours costs this bed's news: the watch goes on
                self._failed(f"what is new at {bed}")
        return tuple(found)

    def _failed(self, what: str) -> None:
        self.defects += 1
        log.exception("the view of %s cannot be made", what)
