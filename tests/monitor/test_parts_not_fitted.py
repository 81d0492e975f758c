"""No text names a part that is not fitted: every support type through form, desk, engine, paper and exports."""

from collections.abc import Iterable, Iterator
from datetime import UTC
from typing import Any

import pytest

from monitor.core.commands import Order, SetTarget
from monitor.core.view import RunView
from monitor.core.wire import LatestReadings
from monitor.desk.bedpage.figures import figures_of
from monitor.desk.bedpage.panels import panels_of
from monitor.desk.command_life import Given
from monitor.desk.link_state import LinkState
from monitor.desk.tile.compose import compose
from monitor.desk.tile.moment import Moment
from monitor.desk.told import told
from monitor.reports.downtime.words import value_rows
from monitor.reports.exports import fhir_parts
from monitor.reports.exports.runs import Run
from monitor.reports.exports.taking import Row
from shared.entry.another_bed import resembles
from shared.entry.draft import Draft, Here, send, type_into
from shared.entry.judging import Judgement
from shared.entry.known import Known
from shared.instant import HOUR
from shared.quantities import CATALOGUE
from shared.quantities import Quantity as Q
from shared.support import DEFAULT_SENSORS, SUPPORT_LABEL, WITH_OXYGENATOR, Support, describe_run, label_for
from tests.helpers.entry_bed import LIMBS, TABLE, judged
from tests.helpers.one_bed import Bed
from tests.helpers.views import NOW, filled, latest, run, tile

#: What is asked about, refused, unreadable, changed, exchanged or out by ten, whatever the field.
ODD = (
    "4..2",
    "1 000",
    "x",
    "-9999",
    "99999",
    "0",
    "1",
    "9",
    "21",
    "37.5",
    "88",
    "190",
    "240",
    "299",
    "-350",
    "1900",
)


def strangers(support: Support, words: str) -> list[str]:
    """What a text names that a run of this type does not have."""
    parts = [] if support in WITH_OXYGENATOR else [part for part in ("oxygenator", "oxy ") if part in words.lower()]
    return [*parts, *(["SvO"] if support is Support.VV and "SvO" in words else [])]


def assert_fitting(support: Support, said: Iterable[str]) -> None:
    found = {words: strangers(support, words) for words in said}
    assert {words: parts for words, parts in found.items() if parts} == {}


def known_at(support: Support, label: str, values: float) -> Known:
    """A run with two accepted sets: every field of its form, far from one another."""
    found = Known(label, describe_run(support, f"{label}-r", sensors=DEFAULT_SENSORS[support] | LIMBS), 5000.0)
    for number in (2, 1):
        numbers = {
            one.quantity: min(max(CATALOGUE[one.quantity].low, values + n), CATALOGUE[one.quantity].high)
            for n, one in enumerate(TABLE.fields_of(found.run))
        }
        found = found.with_set(numbers, -number * HOUR)
    return found


def words_of(judgement: Judgement) -> Iterator[str]:
    for verdict in judgement.fields:
        yield verdict.words
        yield from (finding.words for finding in verdict.findings)
        yield verdict.field.label


@pytest.mark.parametrize("support", list(Support))
def test_that_the_form_asks_and_refuses_in_the_words_of_the_run(support: Support) -> None:
    said: set[str] = set()
    here = known_at(support, "B5", 60.0)
    fields = TABLE.fields_of(here.run)
    for text in ODD:
        said.update(words_of(judged(here, {one.quantity: text for one in fields}, read_at=0)))
        said.update(word for one in fields for word in words_of(judged(here, {one.quantity: text}, read_at=0)))
    pairs = [(one.quantity, here.last.get(one.swapped_with)) for one in fields if one.swapped_with is not None]
    exchanged = {quantity: f"{theirs.value:g}" for quantity, theirs in pairs if theirs is not None}
    said.update(words_of(judged(here, exchanged, read_at=0)))
    other = known_at(support, "B6", 160.0)
    alike = {quantity: one.value for quantity, one in other.last.items()}
    resemblance = resembles(TABLE, here, alike, 0, [other])
    assert resemblance is not None
    said.add(resemblance.words)
    draft = Draft(here.place, "nurse-5")
    for one in fields:
        draft = type_into(draft, Here(TABLE, here), one.quantity, "299", 0)
    with pytest.raises(ValueError, match="must be read and typed again") as caught:
        send(draft, Here(TABLE, here), 0)
    said.add(str(caught.value))
    assert len(said) > 100
    outlet = label_for(Q.POST_OXYGENATOR_PRESSURE, support, support in WITH_OXYGENATOR)
    assert any(words.startswith(f"{outlet} ") for words in said)
    assert_fitting(support, said)


def on_the_desk(view: RunView, support: Support) -> Iterator[str]:
    """What a desk shows and says of a run with a reading of everything that is fitted."""
    fitted = tuple(view.description.sensors)
    one = tile(runs=(view,))
    store = filled([one], [latest(one.bed)])
    moment = Moment(NOW, LinkState.LIVE, UTC)
    face = compose(one, store, moment)
    yield from (trend.label for trend in face.trends)
    yield from (plain.label for plain in face.plain)
    yield face.spoken
    yield from (figure.label for figure in figures_of(one, view, store, moment))
    for panel in panels_of(view):
        yield panel.title
        yield from (line.label for line in panel.lines)
    for quantity in fitted:
        about: dict[str, Any] = {"person": "charge", "bed": one.bed, "slot": 1, "quantity": quantity, "value": 1.0}
        order = Order(id="give-1", prescriber="the surgeon", **about)
        for command in (order, SetTarget(id="give-2", **about)):
            yield told(Given(command, 0.0), 0.0, UTC, {one.bed: one})[0]
    read = LatestReadings(bed=one.bed, slot=1, values=dict.fromkeys(fitted, (NOW, 1.0)))
    yield from (row.label for row in value_rows(view, read, NOW, UTC))


@pytest.mark.parametrize("support", list(Support))
def test_that_desk_and_paper_name_what_is_fitted(support: Support) -> None:
    said = list(on_the_desk(run(support), support))
    outlet = label_for(Q.POST_OXYGENATOR_PRESSURE, support, support in WITH_OXYGENATOR)
    assert sum(outlet in words for words in said) >= 4
    assert_fitting(support, said)


@pytest.mark.parametrize("support", list(Support))
def test_that_the_engine_answers_and_writes_in_the_words_of_the_run(support: Support) -> None:
    bed = Bed(more=f'[[start]]\nbed = "B1"\nsupport = "{support.value}"\n')
    described = bed.tile.runs[0].description
    assert described.support is support
    said: list[str] = []
    for quantity in described.sensors:
        value = CATALOGUE[quantity].high
        for kind, more in ((Order, {"prescriber": "the surgeon"}), (SetTarget, {})):
            for number in (value, value + 1):
                fields = {"bed": "B1", "slot": 1, "quantity": quantity, "value": number}
                said.append(bed.say(kind, "charge", **(fields | more)))
    said += [entry.text or "" for entry in bed.entries if entry.text]
    assert any("is not possible" in words for words in said)
    assert_fitting(support, said)


@pytest.mark.parametrize("support", list(Support))
def test_that_what_leaves_the_record_names_what_is_fitted(support: Support) -> None:
    row = Row(None, Run("r", SUPPORT_LABEL[support]), None, None, None)  # type: ignore[arg-type]
    said = [fhir_parts._label(row, quantity) for quantity in DEFAULT_SENSORS[support]]
    assert_fitting(support, said)
