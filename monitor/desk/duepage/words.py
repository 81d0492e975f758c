"""What is due, in words: a count for the header, and a row for each thing on the list."""

from monitor.core.view import SINCE_SHIFT, DueKind, DueView
from monitor.desk import words
from monitor.desk.sheets.rows import Cell
from monitor.desk.store import Store
from monitor.desk.tile.moment import Moment
from shared.instant import MINUTE
from shared.language.saying import say, to_say

#: What is typed in at a bed: the form is its way.
TYPED = frozenset({DueKind.READING, DueKind.ROUND, DueKind.DRAW})
SINCE = to_say("Since the shift began, to look through")


def due_now(store: Store) -> tuple[DueView, ...]:
    """Give what is due, oldest first."""
    return tuple(one for one in _all(store) if one.kind not in SINCE_SHIFT)


def since_shift(store: Store) -> tuple[DueView, ...]:
    """Give what came up since the shift began."""
    return tuple(one for one in _all(store) if one.kind in SINCE_SHIFT)


def count_words(store: Store, moment: Moment | None) -> tuple[str, ...]:
    """``3 due, oldest 1 h 20 min``, long and short; nothing where nothing is due."""
    found = due_now(store)
    if not found or moment is None:
        return ()
    oldest = span(moment, found[0])
    return (
        say("{count} due, oldest {oldest}", count=len(found), oldest=oldest),
        say("{count} due · {oldest}", count=len(found), oldest=oldest),
        say("{count} due", count=len(found)),
    )


def span(moment: Moment, one: DueView) -> str:
    """Say for how long it has been due: it stands still between minutes."""
    return words.span_in_minutes(max(MINUTE, moment.second - one.at))


def what_words(one: DueView, store: Store) -> str:
    """``Safety walk, pump 2``: what is due, and at which pump where the bed has two."""
    tile = store.tiles.get(one.bed)
    if one.slot is None or tile is None or len(tile.runs) < 2:
        return one.words
    return one.words + say(", pump {slot}", slot=one.slot)


def cells_of(one: DueView, store: Store, moment: Moment) -> tuple[Cell, ...]:
    """Give a row: bed, what, since when, for how long, and what is typed in by the form."""
    when, what = words.day_hhmm(one.at, moment.second, moment.zone), what_words(one, store)
    if one.kind in SINCE_SHIFT:
        return Cell(one.bed), Cell(what, quiet=True), Cell(when, quiet=True), Cell(""), Cell("")
    said = f"{what}{(say(', not ended') if one.kind is DueKind.EVENT else '')}"
    by = say("I: form") if one.kind in TYPED else ""
    return (
        Cell(one.bed, bold=one.late), Cell(said, bold=one.late), Cell(when), Cell(span(moment, one), bold=one.late),
        Cell(by, quiet=True),
    )  # fmt: skip


def _all(store: Store) -> tuple[DueView, ...]:
    return store.unit.due if store.unit is not None else ()
