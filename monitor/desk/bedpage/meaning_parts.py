"""The cards of a bed page that say what the numbers mean, and what of the hub's answer each of them shows."""

from collections.abc import Callable, Sequence
from datetime import tzinfo

from monitor.core.entries import Entry
from monitor.core.meaning.view import Meaning
from monitor.core.view import RunView
from monitor.desk.bedpage.blood_card import BloodCard
from monitor.desk.bedpage.changes_card import ChangesCard
from monitor.desk.bedpage.deck import Deck
from monitor.desk.bedpage.derived_card import DerivedCard
from monitor.desk.bedpage.hint_card import HintCard
from monitor.desk.bedpage.labs_card import LabsCard
from monitor.desk.bedpage.layout import CLOSE, Shape
from monitor.desk.bedpage.learned_words import learned_rows
from monitor.desk.bedpage.meaning_words import ASKED, NEVER_LOOKED, NOBODY, change_lines, since_rows
from monitor.desk.bedpage.numbers_deck import NumbersDeck
from monitor.desk.bedpage.operating_card import OperatingCard
from monitor.desk.bedpage.order_effects_card import OrderEffectsCard
from monitor.desk.bedpage.power_words import power_rows
from monitor.desk.bedpage.rows_card import RowsCard
from monitor.desk.bedpage.slopes_card import SlopesCard, slope_rows
from monitor.desk.bedpage.table import NumbersCard
from monitor.desk.bedpage.trend_tab import TrendTab
from monitor.desk.bedpage.turning import TurnedCard
from shared.language.saying import say, to_say
from shared.look.palette import Theme

#: Keys that nothing else on the page has, in capitals.
NUMBERS, COMPUTED, SINCE, ORDERS, BLOOD, POWER, POINT, PATTERN = "7", "8", "9", "0", "B", "Z", "J", "K"
SLOPES, DEVICES, EVENTS, TRENDS, STANDS = "-", ".", ",", "=", "+"
NOT_KNOWN = to_say("Not known now.")
_WIDE = (NUMBERS, COMPUTED, SLOPES, SINCE, ORDERS, BLOOD, POWER, DEVICES)


class MeaningParts:
    """The cards and the deck. ``label`` writes a person's name."""

    def __init__(self, theme: Theme, label: Callable[[str | None], str]) -> None:
        self._label = label
        self.changes = ChangesCard(theme)
        self.numbers = NumbersCard(theme)
        self.blood = BloodCard(theme)
        self.numbers_deck = NumbersDeck(self.numbers, self.blood)
        self.derived = DerivedCard(theme)
        self.slopes = SlopesCard(theme)
        self.since = RowsCard(say("Since you looked"), theme)
        self.orders = OrderEffectsCard(theme, label)
        self.labs = LabsCard(theme)
        self.power = RowsCard(say("Battery and gas"), theme)
        self.devices = RowsCard(say("Devices"), theme)
        self.point = OperatingCard(theme)
        self.pattern = HintCard(theme)
        cards = {
            NUMBERS: (say("Numbers"), self.numbers_deck),
            COMPUTED: (say("Computed"), self.derived),
            SLOPES: (say("Slopes"), self.slopes),
            SINCE: (say("Since"), self.since),
            ORDERS: (say("Orders"), self.orders),
            BLOOD: (say("Blood"), self.labs),
            POWER: (say("Power"), self.power),
            DEVICES: (say("Devices"), self.devices),
            POINT: (say("Point"), self.point),
            PATTERN: (say("Pattern"), self.pattern),
        }
        self.deck = Deck(theme, cards)
        self._opened = False

    def set_theme(self, theme: Theme) -> None:
        """Paint everything in another theme."""
        for part in (
            self.changes,
            self.numbers,
            self.blood,
            self.derived,
            self.slopes,
            self.since,
            self.orders,
            self.labs,
            self.power,
            self.devices,
            self.point,
            self.pattern,
            self.deck,
        ):
            part.set_theme(theme)

    def add_trends(self, tab: TrendTab) -> None:
        """Take in the card of the trends, which is offered on a slim page."""
        self.deck.add(TRENDS, say("Trends"), tab)

    def take(self, text: str, step: int | None) -> bool:
        """Take a key of a card, or a step in the one that is seen; false: it is neither."""
        if step is not None:
            return self.step(step)
        return bool(text) and self.deck.choose(text.upper())

    def step(self, by: int) -> bool:
        """Show further rows of the card that is seen; false where it has none."""
        seen = self.deck.seen
        if isinstance(seen, NumbersDeck):
            seen = seen.numbers
        if isinstance(seen, DerivedCard | TrendTab) or (isinstance(seen, TurnedCard) and seen.is_turned):
            seen.step(by)
            return True
        return False

    def offer(self, shape: Shape) -> None:
        """Offer the tabs; but on a small page point and pattern have a column of their own, which need not wait."""
        close = shape in CLOSE
        for card in (self.changes, self.point, self.pattern, self.deck.strip):
            card.dense = close
            card.update()
        for behind in (self.derived, self.slopes, self.since, self.orders, self.labs, self.power, self.devices):
            behind.dense = shape is Shape.SLIM
        self.numbers_deck.set_dense(shape is Shape.DENSE)
        self.numbers.dense = close
        self.deck.set_apart(close)
        more = {
            Shape.TABBED: (POINT, PATTERN),
            Shape.NARROW: (POINT, PATTERN, EVENTS),
            Shape.SLIM: (POINT, PATTERN, EVENTS, TRENDS, STANDS),
        }
        self.deck.offer((*_WIDE, *more.get(shape, ())))

    def show(
        self,
        meaning: Meaning | None,
        run: RunView,
        entries: Sequence[Entry],
        who: str | None,
        zone: tzinfo | None,
        *,
        live: bool,
        by_hand: bool,
        stale: bool,
    ) -> None:
        """Show an answer of the hub; ``live``: the desk hears it now, else nothing of it is of now."""
        looked = meaning.looked if meaning is not None else None
        rows = since_rows(looked, entries, run, self._label, zone)
        name = self._label(who) if who is not None else None
        lines = change_lines(
            meaning if live else None, run, rows, name, zone, live=live, by_hand=by_hand, stale=stale
        )
        self.changes.show_lines(lines)
        without = (
            say(ASKED)
            if meaning is None
            else say(NOBODY)
            if name is None
            else say(NEVER_LOOKED, who=name)
            if looked is None or looked.at is None
            else say("Nothing new to {name}.", name=name)
        )
        self.since.show_rows(rows, without)
        if rows and not self._opened and not self.numbers.dense:  # there the numbers stay in view
            self.deck.choose(SINCE)
        self._opened = self._opened or looked is not None
        at = meaning.at if meaning is not None else 0
        self.point.show_view(meaning.operating if meaning is not None else None, at, zone, live)
        shown = meaning if live else None
        hints, not_judged = (shown.hints, shown.not_judged) if shown is not None else ((), ())
        self.pattern.show_hints(hints, not_judged, at if shown else 0, zone, live)
        computed = (*shown.derived, *learned_rows(shown)) if shown else ()
        self.derived.show_rows(computed, at, zone)
        self.slopes.show_rows(slope_rows(shown.trends if shown else (), run, zone))
        self.power.show_rows(power_rows(shown.power if shown else None, zone), say(NOT_KNOWN))
        labs = meaning.labs if meaning is not None else ()
        self.labs.show_labs(labs, at, zone)
        self.blood.show_labs(labs, at, zone, live)
        self.numbers_deck.lay_out()
        self.orders.show_effects(meaning.order_effects if meaning is not None else (), zone, run)
