"""Which hub gets which key and which cards, as the command line of a review says."""

import argparse
from pathlib import Path

import pytest

from monitor.cli import review
from monitor.core.endpoints import Endpoints
from monitor.settings.key_names import FOLDER, HUB, PUBLIC, SECRET
from shared.errors import ConfigurationError
from tests.helpers.keyed import KeyedUnit

ONE, TWO = "tcp://127.0.0.1:17314", "tcp://127.0.0.1:17414"


def given(*words: str) -> argparse.Namespace:
    parser = argparse.ArgumentParser()
    review.add_arguments(parser)
    return parser.parse_args(words)


@pytest.fixture
def units(tmp_path: Path) -> list[KeyedUnit]:
    made = []
    for name in ("north", "south"):
        (tmp_path / name).mkdir()
        made.append(KeyedUnit(tmp_path / name))
        made[-1].station("review")
    return made


def own(unit: KeyedUnit) -> str:
    return str(unit.folder / FOLDER / f"review{SECRET}")


def public(unit: KeyedUnit) -> str:
    return str(unit.folder / FOLDER / f"{HUB}{PUBLIC}")


def test_that_one_hub_without_options_is_that_of_this_machine() -> None:
    (hub,) = review.hubs_given(given())
    assert hub.endpoints.commands == Endpoints().commands
    assert hub.keys is None


def test_that_each_hub_gets_its_own_keys_in_the_order_given(units: list[KeyedUnit]) -> None:
    north, south = units
    words = ["--hub", ONE, "--key", own(north), "--hub-key", public(north)]
    words += ["--hub", TWO, "--key", own(south), "--hub-key", public(south)]
    hubs = review.hubs_given(given(*words))
    assert [one.endpoints.commands for one in hubs] == [ONE, TWO]
    assert [one.keys for one in hubs] == [north.of("review"), south.of("review")]


def test_that_one_key_of_this_desk_may_serve_at_every_hub(units: list[KeyedUnit]) -> None:
    north, south = units
    words = [
        "--hub",
        ONE,
        "--hub",
        TWO,
        "--key",
        own(north),
        "--hub-key",
        public(north),
        "--hub-key",
        public(south),
    ]
    keys = [one.keys for one in review.hubs_given(given(*words))]
    assert len({one.own_public for one in keys if one is not None}) == 1
    assert len({one.hub_public for one in keys if one is not None}) == 2


def test_that_each_unit_has_its_own_emergency_cards(tmp_path: Path) -> None:
    for name in ("north", "south"):
        (tmp_path / name / "cards").mkdir(parents=True)
    (tmp_path / "south" / "cards" / "air.toml").write_text("faulty", encoding="utf-8")
    words = ["--hub", ONE, "--hub", TWO, "--config", str(tmp_path / "north"), "--config", str(tmp_path / "south")]
    found = [one.emergency_cards() for one in review.hubs_given(given(*words))]
    assert found[0] != found[1]


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["--hub", ONE, "--hub", ONE], "given twice"),
        *(
            (["--hub", wrong], "write it as tcp")
            for wrong in ("ward", "tcp://ward", "tcp://ward:x", "http://ward:80")
        ),
        (["--hub", ONE, "--hub", TWO, "--key", "a", "--hub-key", "b"], "--hub-key: 1 for 2 hubs"),
        (["--hub", ONE, "--key", "a", "--key", "b", "--hub-key", "c"], "--key: 2 for 1 hubs"),
        (["--hub", ONE, "--hub", TWO, "--key", "a"], "belong together"),
        (["--hub", ONE, "--hub", TWO, *["--config", "a"] * 3], "--config: 3 for 2 hubs"),
    ],
)
def test_that_hubs_and_keys_that_do_not_match_are_refused(words: list[str], said: str) -> None:
    with pytest.raises(ConfigurationError, match=said):
        review.hubs_given(given(*words))


def test_that_a_page_or_a_form_of_one_unit_is_refused_for_several() -> None:
    for words in (["--page", "B1"], ["--form-key", "x"]):
        with pytest.raises(ConfigurationError, match=words[0]):
            review.run(given("--hub", ONE, "--hub", TWO, *words))
