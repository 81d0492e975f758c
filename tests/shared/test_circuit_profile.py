"""Pump profiles: shipped without files, read from text, refused in words."""

from pathlib import Path

import pytest

from shared.circuit import BROAD, SHIPPED_PROFILES, SMALL, Controls, PumpProfile
from shared.errors import ConfigurationError

PUMPS = Path(__file__).parents[2] / "config" / "pumps"


@pytest.mark.parametrize("name", sorted(SHIPPED_PROFILES))
def test_that_the_shipped_files_say_what_the_shipped_defaults_are(name: str) -> None:
    text = (PUMPS / f"{name}.toml").read_text(encoding="utf-8")
    assert PumpProfile.from_toml_text(text) == SHIPPED_PROFILES[name]


@pytest.mark.parametrize("name", sorted(SHIPPED_PROFILES))
def test_that_every_number_of_a_shipped_file_carries_its_mark(name: str) -> None:
    for line in (PUMPS / f"{name}.toml").read_text(encoding="utf-8").splitlines():
        if "=" in line and not line.startswith(("#", "name")):
            assert line.split("#", 1)[1].split()[0] in ("TD", "CP"), line


def test_that_a_wrong_file_names_the_key_the_value_and_what_is_allowed() -> None:
    text = (PUMPS / "broad.toml").read_text(encoding="utf-8").replace("packs = 4", "packs = 0\nimpeller = 3")
    with pytest.raises(ConfigurationError) as caught:
        PumpProfile.from_toml_text(text)
    words = str(caught.value)
    assert "2 faults" in words
    assert 'key "packs" = 0' in words
    assert "greater than or equal to 1" in words
    assert 'key "impeller"' in words


def test_that_a_start_speed_that_cannot_be_set_is_refused_with_the_range() -> None:
    text = (
        (PUMPS / "broad.toml").read_text(encoding="utf-8").replace("speed_start = 3500.0", "speed_start = 3550.0")
    )
    with pytest.raises(ConfigurationError, match="3550 cannot be set; allowed 0 to 5000 rpm in steps of 100"):
        PumpProfile.from_toml_text(text)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (("speed_max = 5000.0", "speed_max = -1.0"), "speed_max"),
        (("hot_above = 48.0", "hot_above = 20.0"), "hot_above must be above"),
    ],
)
def test_that_figures_that_do_not_fit_each_other_are_refused(change: tuple[str, str], words: str) -> None:
    text = (PUMPS / "broad.toml").read_text(encoding="utf-8").replace(*change)
    with pytest.raises(ConfigurationError, match=words):
        PumpProfile.from_toml_text(text)


def test_that_broken_toml_is_told_as_such() -> None:
    with pytest.raises(ConfigurationError, match="not TOML"):
        PumpProfile.from_toml_text("name = ")


@pytest.mark.parametrize(
    ("profile", "speed", "fits"),
    [
        (BROAD, 3500, True),
        (BROAD, 3550, False),
        (BROAD, 0, True),
        (BROAD, 5100, False),
        (SMALL, 5560, True),
        (SMALL, 5570, False),
        (SMALL, 1400, False),
        (SMALL, 7000, True),
    ],
)
def test_that_speeds_are_set_in_steps_within_the_range(profile: PumpProfile, speed: float, fits: bool) -> None:
    controls = Controls.switched_on(profile)
    if fits:
        assert controls.ordered("pump_speed", speed, profile).speed == speed
    else:
        with pytest.raises(ValueError, match="cannot be set; allowed"):
            controls.ordered("pump_speed", speed, profile)


def test_that_only_knobs_can_be_ordered() -> None:
    controls = Controls.switched_on(BROAD)
    assert controls.ordered("sweep_gas_flow", 4.5, BROAD).sweep == 4.5
    assert controls.ordered("fdo2", 60, BROAD).fdo2 == 60
    with pytest.raises(ValueError, match="cannot be set at the bed"):
        controls.ordered("pump_flow", 4.0, BROAD)
    with pytest.raises(ValueError, match="is impossible"):
        controls.ordered("fdo2", 5, BROAD)
