"""Records to take something out of, and what can stand in them."""

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from hypothesis import strategies as st

from monitor.cli.main import main
from monitor.core.entries import Entry, EntryKind
from monitor.core.events import Observed
from monitor.record import Batch, Begin, Configured, Record, Step
from monitor.settings import texts_in
from shared.instant import HOUR, MINUTE
from shared.messages import Condition, Edition, Found, Looked, Observation, RoundKind, Why
from shared.quantities import CATALOGUE, Quantity
from tests.helpers.courses import CONFIG
from tests.helpers.inputs import AT, declared, observation
from tests.helpers.one_bed import USUAL
from tests.helpers.written_unit import BEGIN, WrittenUnit

READ = tuple(quantity for quantity, spec in CATALOGUE.items() if not spec.derived)
BY, WHY = "charge", "audit of the week"
ITEMS = ("clots", "torch", "an_item_of_before")
LOOKED = st.builds(
    Looked, found=st.sampled_from(Found), note=st.none() | st.text(min_size=1, max_size=8).map("=".__add__)
)
SET = "00000000000000aa"
#: Times of the commands' own clock, which is UTC in the tests' machine or not: with an offset they are exact.
FROM = "2026-01-01 00:00+00:00"


def export(record: Path, *more: object, begin: str = FROM, bed: str = "B1") -> int:
    """Take something out by the command."""
    words = ("export", record, "--bed", bed, "--from", begin, "--by", BY, "--why", WHY, *more)
    return main([str(word) for word in words])


@st.composite
def observations(draw: st.DrawFn) -> list[Observation]:
    """Observations of a bed with up to two pumps, live or entered by hand, in no particular order of reading."""
    found = []
    for seq in range(1, draw(st.integers(1, 8)) + 1):
        here = draw(st.lists(st.sampled_from(READ), max_size=6, unique=True))
        readings = {
            quantity: draw(st.floats(CATALOGUE[quantity].low, CATALOGUE[quantity].high)) for quantity in here
        }
        some = st.frozensets(st.sampled_from(here)) if here else st.just(frozenset())
        by_hand = draw(st.booleans())
        read_at = AT + draw(st.integers(0, HOUR - 1))
        hand: dict[str, Any] = {}
        if by_hand:
            looked = draw(st.dictionaries(st.sampled_from(ITEMS), LOOKED, max_size=3)) or None
            kind = draw(st.sampled_from(RoundKind)) if looked else draw(st.none() | st.sampled_from(RoundKind))
            entered_at = read_at + draw(st.integers(0, 100 * MINUTE))
            hand = {"entered_at": entered_at, "by": "nurse-1", "round": kind, "looked": looked}
        found.append(
            observation(
                seq,
                slot=draw(st.integers(1, 2)),
                read_at=read_at,
                sent_at=read_at,
                readings=readings,
                estimated=draw(some),
                doubtful=draw(some),
                conditions=draw(st.frozensets(st.sampled_from(Condition))),
                **hand,
            )
        )
    return found


def received(said: Observation) -> int:
    """Give when the record had an observation, by the hub's clock: in the order of their numbers."""
    return AT + 2 * HOUR + said.seq


def kept(path: Path, said: Sequence[Observation]) -> Path:
    """Write observations of the shipped unit's bed B1 into a new record, whatever they are."""
    record = Record.open(path)
    batch = Batch(configured=Configured(AT, texts_in(CONFIG)))
    runs = tuple(
        Entry(at=AT, kind=EntryKind.RUN_STARTED, bed="B1", slot=slot, text=f"VA, run =B1-{slot}") for slot in (1, 2)
    )
    batch.steps.append(Step(AT, Begin(), runs))
    batch.steps.append(Step(AT, declared()))
    batch.steps.extend(Step(received(one), Observed(one)) for one in said)
    record.append(batch)
    record.flush({})
    record.close()
    return path


def lived(path: Path) -> Path:
    """Write half an hour in which flow falls at B1; of two sets entered at B5 one is corrected, one struck."""
    unit = WrittenUnit(path, ("B1", "B2"))
    unit.read(5)
    unit.read(2, {"B1": {Quantity.PUMP_FLOW: 2.4, Quantity.INLET_PRESSURE: -140.0}})
    for seq, readings, edition in (
        (1, USUAL, Edition(set=SET)),
        (2, USUAL | {Quantity.PUMP_FLOW: 3.8}, Edition(set=SET, version=2, why=Why.MISTYPED)),
        (3, USUAL, Edition(set="00000000000000bb")),
        (4, {}, Edition(set="00000000000000bb", version=2, why=Why.WRONG_BED, struck=True, moved_to="B1")),
    ):
        said = {"feed": "hand", "epoch": "00000000000000cc", "bed": "B5", "read_at": unit.now, "sent_at": unit.now}
        hand = {"readings": readings, "entered_at": unit.now + MINUTE, "by": "nurse-5", "edition": edition}
        unit.handle(Observed(Observation.model_validate(said | hand | {"seq": seq})))
    unit.read(3, {"B1": None})
    unit.read(20)
    unit.close()
    assert unit.now == BEGIN + 30 * MINUTE
    return path
