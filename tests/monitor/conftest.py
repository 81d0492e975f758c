"""A PostgreSQL for the tests of the archive: one for all of them, and an archive of its own for each."""

from collections.abc import Iterator

import pytest

from monitor.archive.connecting import connected
from monitor.archive.schema import prepare
from tests.helpers.postgres import Postgres, programs, running


@pytest.fixture(scope="session")
def postgres() -> Iterator[Postgres]:
    """A server that runs for all tests of this process."""
    if programs() is None:
        pytest.skip("PostgreSQL is not installed, and could not be: nothing of the archive is tested")
    with running() as server:
        yield server


@pytest.fixture
def archive(postgres: Postgres) -> Iterator[str]:
    """Where an empty archive is."""
    with postgres.database("archive") as place:
        with connected(place) as db:
            prepare(db)
        yield place
