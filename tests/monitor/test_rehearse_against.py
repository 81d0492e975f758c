"""Two configurations over one input: what the second does not raise comes first."""

import json
import shutil
from pathlib import Path

import pytest

from monitor.analysis.annunciations import Annunciation
from monitor.cli.main import main
from monitor.rehearsal.comparing import Side, compare
from shared.cautions import ON_PAPER

ROOT = Path(__file__).parents[2]
KINK = ROOT / "config" / "scenarios" / "06_return_kink.toml"


def alert(at: int, until: int | None, rule: str = "flow_low", priority: str = "medium") -> Annunciation:
    ended = None if until is None else until * 1000
    return Annunciation(at * 1000, "B1", rule, priority, "physiological", ended_at=ended)  # type: ignore[arg-type]


def side(*alerts: Annunciation) -> Side:
    return Side("x", alerts, (), 0)


def other_configuration(folder: Path, rule: str, key: str, value: str) -> Path:
    """A copy of the shipped configuration with one key of one rule changed."""
    made = folder / "other"
    shutil.copytree(ROOT / "config", made)
    text = (made / "limits.toml").read_text()
    at = text.index(f"\n{key} = ", text.index(f'id = "{rule}"')) + 1
    end = text.index("\n", at)
    (made / "limits.toml").write_text(f"{text[:at]}{key} = {value}{text[end:]}")
    return made


def test_that_alerts_match_where_their_times_overlap() -> None:
    found = compare(side(alert(0, 60), alert(200, 260)), side(alert(30, 90), alert(400, None)))
    assert [one.at for one in found.missing] == [200_000]
    assert [one.at for one in found.added] == [400_000]
    assert [pair.later_ms for pair in found.later] == [30_000]


def test_that_many_short_ones_are_matched_by_one_long_one() -> None:
    short = [alert(at, at + 10) for at in (0, 30, 60)]
    found = compare(side(*short), side(alert(0, 100)))
    assert (found.missing, found.added, found.later, found.earlier) == ((), (), (), ())


def test_that_another_priority_is_told_and_high_comes_first() -> None:
    found = compare(side(alert(0, 60, priority="high")), side(alert(0, 60)))
    assert len(found.lowered) == 1
    assert found.missing == ()
    first = side(alert(0, 9), alert(5, 9, "inlet_warn", "low"), alert(9, 20, "flow_none", "high"))
    assert [one.priority for one in compare(first, side()).missing] == ["high", "medium", "low"]


def test_that_what_the_second_does_not_raise_is_named_first(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = other_configuration(tmp_path, "flow_very_low", "delay_s", "40")
    assert main(["rehearse", str(KINK), "--against", str(other)]) == 0
    lines = capsys.readouterr().out.splitlines()
    differing = [line for line in lines if line.startswith("B ")]
    assert differing[0].startswith("B does not raise: flow_very_low high B1 1:1")
    assert len(differing) == 1
    assert lines.index(differing[0]) == 6


def test_that_the_same_configuration_twice_differs_in_nothing(capsys: pytest.CaptureFixture[str]) -> None:
    config = str(ROOT / "config")
    assert main(["rehearse", str(KINK), "--config", config, "--against", config, "--json"]) == 0
    said = json.loads(capsys.readouterr().out)
    assert said["cautions"] == list(ON_PAPER)
    assert {key: said[key] for key in said if key.startswith(("b_", "only_"))} == {
        "b_does_not_raise": [], "only_b_raises": [], "b_lower": [], "b_higher": [], "b_later": [], "b_earlier": []
    }  # fmt: skip
    assert said["a"] == said["b"]
    assert said["a"]["rules"]["flow_very_low"]["high"] == 1
    assert said["a"]["called"]["nurse-B1"] >= 1


def test_that_a_picture_of_both_is_saved(tmp_path: Path, capsys: pytest.CaptureFixture[str], qapp: object) -> None:
    picture = tmp_path / "lanes.png"
    words = ["rehearse", str(KINK), "--against", str(ROOT / "config"), "--picture", str(picture)]
    assert main(words) == 0
    assert picture.read_bytes().startswith(b"\x89PNG")
    words[-1] = str(tmp_path / "nowhere" / "lanes.png")
    assert main(words) == 2
    assert "could not be written" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("words", "why"),
    [
        (("--against", "config", "--events", "-"), "do not go together"),
        (("--json",), "belong to --against"),
        (("--picture", "f.png"), "belong to --against"),
    ],
)
def test_that_options_that_do_not_belong_together_are_refused(
    words: tuple[str, ...], why: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["rehearse", str(KINK), *words]) == 2
    captured = capsys.readouterr()
    assert why in captured.err
    assert captured.out == ""
