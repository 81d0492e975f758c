"""A real PostgreSQL in a folder of its own, reached by a socket there and by nothing else."""

import os
import pwd
import shutil
import signal
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import psycopg

from tests.helpers.processes import until

#: Who runs it where the tests run as root, which it refuses: the user of the Debian package.
_USER = "postgres"
#: The password of the role "feeder", which alone must give one.
PASSWORD = "invented-for-tests"
_SETTINGS = ("listen_addresses=", "fsync=off", "shared_buffers=16MB", "max_connections=20", "autovacuum=off")
_ACCESS = "local all feeder scram-sha-256\nlocal all all trust\n"


def programs() -> Path | None:
    """Give the folder with PostgreSQL's programs, the newest version's; ``None``: it is not installed."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: int(path.parts[-3]))
    named = shutil.which("initdb")
    return found[-1].parent if found else Path(named).parent if named else None


class Postgres:
    """A server; `start` and `kill` as often as one likes."""

    def __init__(self, bin_folder: Path, folder: Path) -> None:
        self._bin, self._folder = bin_folder, folder
        self._as: dict[str, Any] = {"cwd": folder}
        if os.geteuid() == 0:
            self._as |= {"user": _USER, "group": pwd.getpwnam(_USER).pw_gid, "extra_groups": []}
            shutil.chown(folder, _USER, pwd.getpwnam(_USER).pw_gid)
        self._data = folder / "data"
        self._process: subprocess.Popen[bytes] | None = None
        user = f"--username={_USER}"
        words = ("--auth=trust", user, "--encoding=UTF8", "--locale=C", "--no-sync", "--no-instructions")
        self._run("initdb", f"--pgdata={self._data}", *words)
        (self._data / "pg_hba.conf").write_text(_ACCESS)

    def place(self, database: str, user: str = _USER) -> str:
        """Give the connection string of a database."""
        return f"host={self._folder} dbname={database} user={user}"

    def start(self) -> None:
        """Start it and wait until it answers. After a kill, those it had started must have noticed first."""
        until(self._is_ready, "PostgreSQL answers")

    def kill(self) -> None:
        """Kill it without warning."""
        self._end(signal.SIGKILL)

    def stop(self) -> None:
        """Stop it; whoever is connected is sent away."""
        self._end(signal.SIGINT)

    @contextmanager
    def database(self, name: str) -> Iterator[str]:
        """Make a database; give its connection string; drop it at the end."""
        with psycopg.connect(self.place("postgres"), autocommit=True) as db:
            db.execute(f"CREATE DATABASE {name}".encode())
        yield self.place(name)
        with psycopg.connect(self.place("postgres"), autocommit=True) as db:
            db.execute(f"DROP DATABASE {name} WITH (FORCE)".encode())

    def _is_ready(self) -> bool:
        if self._process is None or self._process.poll() is not None:
            settings = [word for setting in _SETTINGS for word in ("-c", setting)]
            command = [str(self._bin / "postgres"), "-D", str(self._data), "-k", str(self._folder), *settings]
            with (self._folder / "log").open("ab") as log:
                self._process = subprocess.Popen(
                    command, stdin=subprocess.DEVNULL, stdout=log, stderr=log, **self._as
                )
        with suppress(psycopg.OperationalError):
            psycopg.connect(self.place("postgres")).close()
            return True
        return False

    def _end(self, number: int) -> None:
        assert self._process is not None
        self._process.send_signal(number)
        self._process.wait(30)

    def _run(self, program: str, *words: str) -> None:
        command = [str(self._bin / program), *words]
        done = subprocess.run(command, capture_output=True, check=False, **self._as)
        assert done.returncode == 0, done.stderr


@contextmanager
def running() -> Iterator[Postgres]:
    """Start a server in a temporary folder; stop it and take the folder away at the end."""
    found = programs()
    assert found is not None
    folder = Path(tempfile.mkdtemp(prefix="weirkeeper-"))
    try:
        server = Postgres(found, folder)
        server.start()
        try:
            yield server
        finally:
            server.stop()
    finally:
        shutil.rmtree(folder)
