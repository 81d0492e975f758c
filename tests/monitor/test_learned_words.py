"""What was learned of a pump, in the words of the bed page."""

from monitor.core.meaning.flow_view import CurrentView, FlowEstimateView
from monitor.core.meaning.view import Meaning
from monitor.desk.bedpage.learned_words import learned_rows
from monitor.desk.paint.fonts import THIN_GAP

NOW = 1_767_227_940_000
DIFFERS = "Measured 2.0 L/min is not what head and motor current say"
FLOW = FlowEstimateView(
    value=4.17, low=4.1, high=4.238, source="Head and motor current of the last minute", measured=2.0,
    differs=DIFFERS, minutes=36, speeds=(3200.0, 3500.0, 3700.0),
)  # fmt: skip
CURRENT = CurrentView(
    measured=0.84, expected=0.752, low=0.73, high=0.77, residual=0.088, sign="up", minutes=61, speeds=(3500.0,),
    words="0.09 A above what speed and flow ask for. Possible: friction in the pump head",
)  # fmt: skip


def meaning(flow: FlowEstimateView | None = None, current: CurrentView | None = None) -> Meaning:
    return Meaning(bed="B7", slot=1, run_id="run-7", at=NOW, flow_estimate=flow, current=current)


def test_that_the_learned_flow_has_its_interval_its_past_and_what_is_measured_beside_it() -> None:
    (row,) = learned_rows(meaning(FLOW))
    assert (row.label, row.value, row.unit, row.missing) == ("Flow, learned here", 4.17, "L/min", "")
    assert row.formula == (
        "Head and motor current of the last minute. 90 % interval 4.10 to 4.24 L/min. "
        f"From 36 measured min at 3{THIN_GAP}200, 3{THIN_GAP}500, 3{THIN_GAP}700 rpm. No rule reads it."
    )
    assert row.caution == f"{DIFFERS}."
    assert [(one.label, one.value, one.at) for one in row.inputs] == [("Measured", 2.0, NOW)]


def test_that_the_consoles_own_estimate_is_named_as_such() -> None:
    (row,) = learned_rows(meaning(FLOW.model_copy(update={"measured": None, "console": 5.4, "differs": ""})))
    assert [(one.label, one.value) for one in row.inputs] == [("Console's own estimate", 5.4)]
    assert row.caution == ""


def test_that_a_refusal_stands_instead_of_a_value() -> None:
    (row,) = learned_rows(meaning(FlowEstimateView(refused="Too little is measured yet", minutes=5)))
    assert (row.value, row.missing) == (None, "Too little is measured yet")
    assert row.formula == "From 5 measured min. No rule reads it."


def test_that_the_current_is_what_speed_and_flow_ask_for_beside_what_is_measured() -> None:
    (row,) = learned_rows(meaning(current=CURRENT))
    assert (row.label, row.value, row.unit) == ("Motor current, expected", 0.752, "A")
    assert row.caution == "0.09 A above what speed and flow ask for. Possible: friction in the pump head."
    assert [(one.label, one.value) for one in row.inputs] == [("Measured", 0.84)]
    assert (
        row.formula
        == f"90 % interval 0.73 to 0.77 A. From 61 measured min at 3{THIN_GAP}500 rpm. No rule reads it."
    )


def test_that_what_is_not_fitted_has_no_row() -> None:
    assert learned_rows(meaning()) == ()
