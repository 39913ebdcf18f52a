"""Named migrations, applied in order, each with its record in one transaction and a copy of the file kept before it."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import UTC, datetime
from pathlib import Path

from sqlalchemy import Connection, Engine, insert, inspect, select, text

from homecare.storage import place, sqlite
from homecare.storage.faults import StorageFault, told
from homecare.storage.first_tables import first_tables
from homecare.storage.tables import migrations

Migration = Callable[[Connection], None]
"""One change of the tables; its function's name is its name for ever."""

MIGRATIONS: Sequence[Migration] = (first_tables,)
"""All of them in order. Only ever added to; a migration that was released is never changed."""


def migrate(engine: Engine, path: Path, steps: Sequence[Migration] = MIGRATIONS, *, copies: bool = True) -> None:
    """Bring a database to the last of `steps`. Raises StorageFault when a newer program made it.

    Several programs may do so at once: what is pending is looked up under the write lock.
    """
    with told(path):
        with engine.begin() as connection:
            pending = _pending(connection, path, steps)
        for step in pending:
            with sqlite.writing(engine).begin() as connection:
                if step in _pending(connection, path, steps):
                    _apply(connection, path, step, steps.index(step) + 1, copies)


def _pending(connection: Connection, path: Path, steps: Sequence[Migration]) -> Sequence[Migration]:
    names = [step.__name__ for step in steps]
    known = inspect(connection).has_table(migrations.name)
    applied = list(connection.scalars(select(migrations.c.name).order_by(migrations.c.number))) if known else []
    if applied != names[: len(applied)]:
        strange = next(name for name in applied if name not in names[: len(applied)])
        message = (
            f"a newer version of this program has changed this database (by {strange!r}), and this one would harm it"
        )
        raise StorageFault(path, "newer", message, "use the newer version")
    return steps[len(applied) :]


def _apply(connection: Connection, path: Path, step: Migration, number: int, copies: bool) -> None:
    if number == 1:
        connection.exec_driver_sql(f"PRAGMA application_id = {sqlite.APPLICATION}")
        connection.execute(text("CREATE TABLE migrations (number INTEGER PRIMARY KEY, name TEXT, applied TIMESTAMP)"))
    elif copies:
        # Another connection may read while this one holds the write lock: the copy is what the migration begins with.
        sqlite.copy_whole(path, place.copy_name(path, f"before-{step.__name__}"))
    # A table that is built anew may leave references hanging until it stands.
    connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    step(connection)
    hanging = connection.exec_driver_sql("PRAGMA foreign_key_check").fetchall()
    if hanging:
        raise RuntimeError(f"migration {step.__name__} leaves {len(hanging)} rows that lead nowhere")
    connection.execute(insert(migrations).values(number=number, name=step.__name__, applied=datetime.now(UTC)))
