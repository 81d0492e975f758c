"""The screen of this station: what its folder says of it, what it says of itself, and both in words."""

from pathlib import Path

from monitor.cli.screen_report import Report, screen_report
from shared.look.grid import grid_for
from shared.look.screen import FILE, Screen, ScreenTable, most_percent
from shared.look.sizes import COMFORTABLE_ARC

_AT_M = 4.0
_OFF_BY = 0.03
#: As many beds as a unit can have: a page is full with them.
_MANY = 64


def screen_of(folder: Path) -> ScreenTable | None:
    """Read what a folder says of the screen. What reads files of a unit is loaded where there is such a file.

    Raises:
        SettingsError: the file is wrong.
    """
    if not (folder / FILE).exists():
        return None
    from monitor.settings.screen_file import load_screen_in

    return load_screen_in(folder)


def text_that_fits(percent: int, size: tuple[int, int] | None) -> int:
    """Give the largest text up to ``percent`` that has room in a window; ``None``: one as large as the screen."""
    if percent <= 100:
        return 100
    if size is None:
        report = screen_report()
        size = report.px if report is not None else (1920, 1080)
    return min(percent, most_percent(*size))


def screen_words(table: ScreenTable | None, report: Report | None) -> list[str]:
    """Say what the sizes reckon with, and how that agrees with what the screen says."""
    told = table or ScreenTable()
    screen = Screen(told.pitch_mm)
    where = "" if table is not None else f" (usual: there is no {FILE})"
    cap = round(screen.cap(_AT_M, COMFORTABLE_ARC))
    lines = [
        f"{told.pitch_mm:g} mm a pixel{where}, text {told.text_percent} %: "
        f"20 mm are {screen.touch} px, capitals read at {_AT_M:g} m {cap} px"
    ]
    if report is None:
        lines.append("no screen here to ask: measure its picture, mm by pixels across")
        return lines
    said = report.pitch_mm
    if said is None:
        lines.append("what this screen says of its size is not believed: measure its picture, mm by pixels across")
    elif abs(said / told.pitch_mm - 1) > _OFF_BY:
        lines.append(f"this screen says {said:.3f} mm: measure its picture, and put right pitch_mm in {FILE}")
    else:
        lines.append(f"this screen says {said:.3f} mm too")
    most = most_percent(*report.px)
    if told.text_percent > most:
        wide, high = report.px
        lines.append(f"text of {told.text_percent} % has no room on {wide} x {high}: {most} % is shown")
    shown = min(told.text_percent, most)
    if _on_a_page(report.px, shown) < _on_a_page(report.px, 100):
        lines.append(_pages_words(report.px, shown))
    return lines


def _on_a_page(px: tuple[int, int], percent: int) -> int:
    """Give how many of many beds stand on one page of the board."""
    wide, high = (100 * one // percent for one in px)
    return grid_for(_MANY, wide, high).per_page


def _pages_words(px: tuple[int, int], percent: int) -> str:
    """Say how many beds are seen at once, and the largest text with which more are."""
    now = _on_a_page(px, percent)
    smaller = next(one for one in range(percent, 99, -1) if _on_a_page(px, one) > now)
    return (
        f"text of {percent} % shows {now} beds at once, those with the worst needs first, Page keys show the "
        f"others; {smaller} % shows {_on_a_page(px, smaller)}"
    )
