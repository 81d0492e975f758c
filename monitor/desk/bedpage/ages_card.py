"""Ages of devices, how long battery and gas would last, and a caution: what stands at the foot of a small page."""

from PySide6.QtGui import QPainter

from monitor.core.view import RunView
from monitor.desk.bedpage.card import Card
from monitor.desk.bedpage.dense_rows import EDGE
from monitor.desk.device_words import ages_in_words
from monitor.desk.paint.flow import TextFlow, high_of
from monitor.desk.standing import Line
from monitor.desk.tile.moment import Moment
from shared.cautions import LOCAL
from shared.language.saying import say, to_say
from shared.look.palette import Theme

_PX = 12.0
NO_AGES = to_say("Ages of pump head, oxygenator and tubing: not known")


def ages_lines(run: RunView, moment: Moment, power: str) -> tuple[Line, ...]:
    """Give the lines; ``power``: what stands of battery and gas, or of another pump."""
    ages = ages_in_words(run, moment)
    said = (
        Line(" · ".join(line.text for line in ages), any(line.bold for line in ages))
        if ages
        else Line(say(NO_AGES))
    )
    return (said, *((Line(power, True),) if power else ()))


class AgesCard(Card):
    """Whole lines, the caution last and always."""

    def __init__(self, theme: Theme) -> None:
        super().__init__("", theme)
        self.called = say("Devices")
        self.dense = True
        self.lines: tuple[Line, ...] = ()

    def show_lines(self, lines: tuple[Line, ...]) -> None:
        """Show these above the caution."""
        if lines != self.lines:
            self.lines = lines
            self.update()

    def wanted(self, width: float) -> float:
        """Give the height that shows everything."""
        lines = (*self.lines, Line(say(LOCAL)))
        return self.top + sum(high_of(line.text, width - 2 * EDGE, _PX, line.bold) for line in lines) + 4

    def paint_content(self, painter: QPainter) -> None:
        """Paint them."""
        flow = TextFlow(painter, EDGE, self.width() - EDGE, self.top - 2, self.height())
        for line in self.lines:
            flow.put(line.text, _PX, line.bold, self.theme.ink)
        flow.put(say(LOCAL), _PX, False, self.theme.ink_2)
