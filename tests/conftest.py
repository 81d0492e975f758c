"""For every test: Qt without a screen, and nothing unexpected in the log or left behind."""

import logging
import os
from collections.abc import Iterator
from typing import Literal

import pytest
from hypothesis import HealthCheck, settings

# Before anything imports Qt.
os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

from tests.helpers.births import watch
from tests.helpers.leaks import Leaks
from tests.helpers.plays import keep_in

watch()

# "steady" gives the same examples on every run, so that a red test is red for a reason; "search" looks further:
# pytest --hypothesis-profile=search
settings.register_profile("steady", derandomize=True, max_examples=50, deadline=None)
settings.register_profile("search", max_examples=1000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("steady")


@pytest.fixture(scope="session", autouse=True)
def _courses_played_once(tmp_path_factory: pytest.TempPathFactory) -> None:
    """Let the processes of one run share the courses that they have played.

    A run of one process keeps nothing: a mutant must not be shown what the code before it played.
    """
    if "PYTEST_XDIST_WORKER" in os.environ:
        keep_in(tmp_path_factory.getbasetemp().parent / "plays")


@pytest.fixture(autouse=True)
def _nothing_left_behind() -> Iterator[None]:
    """Fail a test that leaves a thread, a ZeroMQ context or an active Qt timer or thread behind."""
    leaks = Leaks()
    yield
    found = leaks.found()
    if found:
        pytest.fail("the test left behind:\n  " + "\n  ".join(found), pytrace=False)


@pytest.fixture(autouse=True)
def _nothing_unexpected_in_the_log(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    """Fail a test on a log record at WARNING or above.

    A test that expects records looks at `caplog`, then says `caplog.clear()`: what it has seen is expected.
    """
    yield
    phases: tuple[Literal["setup", "call", "teardown"], ...] = ("setup", "call", "teardown")
    records = [record for phase in phases for record in caplog.get_records(phase)]
    found = [f"{r.levelname} {r.name}: {r.getMessage()}" for r in records if r.levelno >= logging.WARNING]
    if found:
        pytest.fail("in the log:\n  " + "\n  ".join(found), pytrace=False)
