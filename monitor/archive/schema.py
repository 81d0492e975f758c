"""The tables of the archive, and how an older one becomes a newer one.

A unit has one *record* after another, numbered from 1: mostly one. Each is what one chain of entries holds; one
that was restored from a backup has the one before as ``parent`` and begins after its ``after_entry`` and
``after_ordinal``. Observations stand in stretches, as the digests of the record cut them, packed (`packed`);
everything else is a row as in the record. A migration and its row are one transaction; an archive of a newer
Weirkeeper is refused.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from psycopg import sql

from monitor.archive.connecting import SCHEMA, Connection, name_of, telling
from shared.errors import ConfigurationError, RecordError


@dataclass(frozen=True, slots=True)
class Migration:
    """What leads to ``version`` from the one before; ``info``: what is new, in words."""

    version: int
    info: str
    statements: tuple[str, ...]


_NEVER = """
CREATE TRIGGER {table}_never_change BEFORE UPDATE OR DELETE OR TRUNCATE ON {table}
  FOR EACH STATEMENT EXECUTE FUNCTION never_change()"""
#: Whose rows are neither changed nor deleted, not even by the owner of the tables.
KEPT = ("entries", "inputs", "stretches", "configurations", "answers", "thinned", "notices")

_FIRST = (
    """CREATE TABLE records (
         id integer PRIMARY KEY GENERATED ALWAYS AS IDENTITY, unit text NOT NULL, number integer NOT NULL,
         parent integer REFERENCES records, after_ordinal bigint NOT NULL, after_entry bigint NOT NULL,
         ordinal bigint NOT NULL, entry bigint NOT NULL, head bytea NOT NULL, sum bytea, last_at bigint NOT NULL,
         UNIQUE (unit, number))""",
    """CREATE TABLE epochs (record integer NOT NULL REFERENCES records, id bigint NOT NULL, feed text NOT NULL,
         epoch text NOT NULL, stored bigint NOT NULL, PRIMARY KEY (record, id))""",
    """CREATE TABLE places (record integer NOT NULL REFERENCES records, id bigint NOT NULL, bed text NOT NULL,
         slot bigint NOT NULL, PRIMARY KEY (record, id))""",
    """CREATE TABLE layouts (record integer NOT NULL REFERENCES records, id bigint NOT NULL,
         quantities text NOT NULL, PRIMARY KEY (record, id))""",
    """CREATE TABLE skipped (record integer NOT NULL REFERENCES records, id bigint NOT NULL, epoch bigint NOT NULL,
         first bigint NOT NULL, last bigint NOT NULL, reason text NOT NULL, PRIMARY KEY (record, id))""",
    """CREATE TABLE stretches (record integer NOT NULL REFERENCES records, upto bigint NOT NULL,
         after bigint NOT NULL, at bigint NOT NULL, digest bytea, count integer NOT NULL, first_read bigint,
         last_read bigint, has_sets boolean NOT NULL, rows bytea NOT NULL, PRIMARY KEY (record, upto))""",
    "ALTER TABLE stretches ALTER COLUMN rows SET STORAGE EXTERNAL",  # they are packed already
    "CREATE INDEX stretches_by_time ON stretches (record, last_read)",
    "CREATE INDEX stretches_with_sets ON stretches (record, last_read) WHERE has_sets",
    """CREATE TABLE inputs (record integer NOT NULL REFERENCES records, ordinal bigint NOT NULL,
         at bigint NOT NULL, kind text NOT NULL, body text NOT NULL, PRIMARY KEY (record, ordinal))""",
    "CREATE INDEX inputs_told ON inputs (record, ordinal) WHERE kind <> 'time_passed'",
    """CREATE TABLE entries (record integer NOT NULL REFERENCES records, number bigint NOT NULL,
         ordinal bigint NOT NULL, bed text, body text NOT NULL, digest bytea NOT NULL, sealed bytea,
         at bigint NOT NULL, kind text NOT NULL, PRIMARY KEY (record, number))""",
    "CREATE INDEX entries_by_time ON entries (record, at)",
    "CREATE INDEX entries_by_kind ON entries (record, kind, number)",
    "CREATE INDEX entries_by_input ON entries (record, ordinal)",
    """CREATE TABLE configurations (record integer NOT NULL REFERENCES records, number bigint NOT NULL,
         ordinal bigint NOT NULL, at bigint NOT NULL, files text NOT NULL, PRIMARY KEY (record, number))""",
    """CREATE TABLE answers (record integer NOT NULL REFERENCES records, command text NOT NULL,
         ordinal bigint NOT NULL, answer text NOT NULL, PRIMARY KEY (record, command))""",
    """CREATE TABLE hours (record integer NOT NULL REFERENCES records, ordinal bigint NOT NULL, at bigint NOT NULL,
         engine bytea NOT NULL, PRIMARY KEY (record, ordinal))""",
    """CREATE TABLE checkpoints (record integer NOT NULL REFERENCES records, ordinal bigint NOT NULL,
         at bigint NOT NULL, engine bytea NOT NULL, latest bytea NOT NULL, PRIMARY KEY (record, ordinal))""",
    """CREATE TABLE thinned (record integer NOT NULL REFERENCES records, after bigint NOT NULL,
         upto bigint NOT NULL, before bigint NOT NULL, observations bigint NOT NULL,
         digest bytea NOT NULL, others bytea NOT NULL,
         entry bigint NOT NULL, PRIMARY KEY (record, upto))""",
    """CREATE TABLE notices (id bigint PRIMARY KEY GENERATED ALWAYS AS IDENTITY,
         record integer NOT NULL REFERENCES records, at timestamptz NOT NULL DEFAULT now(), text text NOT NULL)""",
    """CREATE FUNCTION never_change() RETURNS trigger LANGUAGE plpgsql AS
         $$ BEGIN RAISE EXCEPTION 'what is archived is never changed or deleted'; END $$""",
    *(_NEVER.format(table=table) for table in KEPT),
)

MIGRATIONS: tuple[Migration, ...] = (Migration(1, "first version", _FIRST),)

#: What a feeder may do beside reading and adding.
_FEEDER = (
    "GRANT INSERT ON ALL TABLES IN SCHEMA {schema} TO {role}",
    "REVOKE INSERT ON {schema}.migrations FROM {role}",
    "GRANT UPDATE (ordinal, entry, head, sum, last_at) ON {schema}.records TO {role}",
    "GRANT UPDATE (stored) ON {schema}.epochs TO {role}",
    "GRANT UPDATE (at, engine) ON {schema}.hours TO {role}",
    "GRANT DELETE ON {schema}.checkpoints TO {role}",
)
_READER = ("GRANT USAGE ON SCHEMA {schema} TO {role}", "GRANT SELECT ON ALL TABLES IN SCHEMA {schema} TO {role}")


def prepare(db: Connection, migrations: Sequence[Migration] = MIGRATIONS) -> tuple[int, int]:
    """Bring the archive to the newest version; give the version it had (0: none) and the one it has.

    Two that do it at once wait for each other.

    Raises:
        RecordError: it is of a newer Weirkeeper, or refuses; it is as it was before the failed step.
    """
    newest = migrations[-1].version
    with telling():
        with db.transaction():
            db.execute("SELECT pg_advisory_xact_lock(hashtextextended('weirkeeper schema', 0))")
            db.execute(sql.SQL("CREATE SCHEMA IF NOT EXISTS {}").format(sql.Identifier(SCHEMA)))
            db.execute("CREATE TABLE IF NOT EXISTS migrations (version integer PRIMARY KEY, info text NOT NULL)")
        before = _not_newer(db, newest)
        for step in migrations:
            with db.transaction():
                db.execute("SELECT pg_advisory_xact_lock(hashtextextended('weirkeeper schema', 0))")
                if _not_newer(db, newest) >= step.version:
                    continue
                for statement in step.statements:
                    db.execute(statement.encode())
                db.execute("INSERT INTO migrations VALUES (%s, %s)", (step.version, step.info))
    return before, newest


def grant(db: Connection, role: str, *, feeds: bool) -> None:
    """Give a role that is there the least rights: to read, and for a feeder to add.

    Raises:
        ConfigurationError: there is no such role.
    """
    with telling(), db.transaction():
        if db.execute("SELECT 1 FROM pg_roles WHERE rolname = %s", (role,)).fetchone() is None:
            raise ConfigurationError(
                f'there is no role "{role}" in this database: make it first (createuser {role})'
            )
        names = {"schema": sql.Identifier(SCHEMA), "role": sql.Identifier(role)}
        for statement in (*_READER, *(_FEEDER if feeds else ())):
            db.execute(sql.SQL(statement).format(**names))


def make_sure_of_version(db: Connection) -> None:
    """See that the archive is of this version. Raises RecordError where it is not."""
    newest = MIGRATIONS[-1].version
    with telling():
        there = db.execute("SELECT to_regclass(%s) IS NOT NULL", (f"{SCHEMA}.migrations",)).fetchone()
        version = _not_newer(db, newest) if there and there[0] else 0
    if version < newest:
        what = f"is of version {version}" if version else "has no tables yet"
        raise RecordError(f"{name_of(db)} {what}: whoever owns it brings it to {newest} first (archive prepare)")


def _not_newer(db: Connection, newest: int) -> int:
    row = db.execute("SELECT coalesce(max(version), 0) FROM migrations").fetchone()
    version = int(str(row[0])) if row else 0
    if version > newest:
        raise RecordError(
            f"{name_of(db)} was prepared by a newer Weirkeeper (version {version}, this one knows {newest}): "
            "use that one"
        )
    return version
