"""Reaching the archive: where it is, and what is told of it when it does not answer.

Where it is says a connection string, as PostgreSQL's own library reads one (PostgreSQL manual, "Connection
Strings"), or nothing at all: then its variables say it (PGHOST, PGDATABASE, PGSERVICE and so on). A password is
never taken from a command line, which everybody on the machine can read: it belongs into a password file
(``~/.pgpass``, PGPASSFILE), a service file, or the environment. No message names one.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager

import psycopg
from psycopg.conninfo import conninfo_to_dict

from shared.errors import ConfigurationError, RecordError

#: The schema that holds the archive's tables.
SCHEMA = "weirkeeper"
#: The variable that says where the archive is, where the command line does not.
VARIABLE = "WEIRKEEPER_ARCHIVE"
#: A line that is dead is noticed within a minute; a table that somebody holds is waited for no longer than that.
_USUAL = {
    "application_name": "weirkeeper",
    "connect_timeout": "10",
    "keepalives_idle": "30",
    "keepalives_interval": "10",
    "keepalives_count": "3",
}
_LOCK_S = 30

Connection = psycopg.Connection[tuple[object, ...]]


class Away(RecordError):
    """The archive does not answer, or somebody holds what is to be written: later it may."""


def place_of(typed: str | None) -> str:
    """Give the connection string: the one that was typed, or what the environment says.

    Raises:
        ConfigurationError: it is none, or a password stands on the command line.
    """
    said = os.environ.get(VARIABLE, "") if typed is None else typed
    option = VARIABLE if typed is None else "the connection string"
    try:
        parts = conninfo_to_dict(said)
    except psycopg.Error:  # its words would repeat what was typed
        raise ConfigurationError(
            f'{option} cannot be read: write it as "host=HOST dbname=NAME user=NAME", or as postgresql://USER@HOST/NAME'
        ) from None
    if typed is not None and any(parts.get(name) for name in ("password", "sslpassword")):
        raise ConfigurationError(
            "a password on the command line can be read by everybody on this machine: put it into a password file "
            f"(~/.pgpass), or give the whole string in {VARIABLE}"
        )
    return said


@contextmanager
def connected(place: str, *, reading: bool = False) -> Iterator[Connection]:
    """Open the archive and close it again. Transactions are the caller's (``with db.transaction()``).

    Args:
        reading: nothing is written, and everything is of one moment: one transaction holds the whole block.

    Raises:
        Away: it does not answer.
        RecordError: it refuses, or is no archive for Weirkeeper.
    """
    with telling():
        given = {name: value for name, value in conninfo_to_dict(place).items() if value is not None}
        usual = {name: value for name, value in _USUAL.items() if name not in given}
        with psycopg.connect(place, autocommit=True, **usual) as db:  # type: ignore[arg-type]
            if db.info.parameter_status("server_encoding") != "UTF8":
                raise RecordError(f"{name_of(db)} does not keep its texts in UTF-8: make another database")
            db.execute(f"SET search_path = {SCHEMA}, pg_catalog, pg_temp")
            db.execute(f"SET lock_timeout = '{_LOCK_S}s'")
            if not reading:
                yield db
                return
            with db.transaction():
                db.execute("SET TRANSACTION ISOLATION LEVEL REPEATABLE READ READ ONLY")
                yield db


def name_of(db: Connection) -> str:
    """Say which archive it is, without user and password."""
    return f'the archive "{db.info.dbname}" at {db.info.host or "this machine"}'


@contextmanager
def telling() -> Iterator[None]:
    """Turn what PostgreSQL says into words for a person, and into one of our errors."""
    try:
        yield
    except (psycopg.OperationalError, psycopg.errors.AdminShutdown, psycopg.InterfaceError) as error:
        raise Away(f"the archive does not answer: {_words(error)}") from None
    except psycopg.errors.InsufficientPrivilege as error:
        raise RecordError(
            f"the archive refuses: {_words(error)}; `archive prepare` says which rights a role has"
        ) from None
    except psycopg.Error as error:
        raise RecordError(f"the archive refuses: {_words(error)}") from None


def _words(error: psycopg.Error) -> str:
    said = error.diag.message_primary or str(error) or type(error).__name__
    secret = [os.environ.get("PGPASSWORD")]
    try:
        parts = conninfo_to_dict(os.environ.get(VARIABLE, ""))
        secret += [str(parts[name]) for name in ("password", "sslpassword") if parts.get(name)]
    except psycopg.Error:
        pass
    text = " ".join(said.split())
    for word in filter(None, secret):
        text = text.replace(word, "***")
    return text
