"""The first migration: the tables that the desk's records began with. Once released, a change is a new migration."""

from __future__ import annotations

from sqlalchemy import (
    CheckConstraint,
    Column,
    Connection,
    Date,
    ForeignKey,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
)

from homecare.storage.tables import UtcTime


def first_tables(connection: Connection) -> None:
    """Make every table with its keys, indexes and the triggers that keep what was issued."""
    tables = MetaData()
    _people(tables)
    _records(tables)
    tables.create_all(connection, checkfirst=False)
    for trigger in _triggers():
        connection.exec_driver_sql(trigger)


def _id() -> Column[str]:
    return Column("id", String(32), primary_key=True)


def _to(column: str, target: str, primary_key: bool = False) -> Column[str]:
    """A reference with nothing that deletes on its own: erasing an athlete is the one way, and goes table by table."""
    return Column(column, String(64), ForeignKey(target), nullable=False, primary_key=primary_key)


def _files(*names: str) -> list[Column[bytes] | Column[str]]:
    return [
        *(Column(name, LargeBinary, nullable=False) for name in names),
        *(Column(f"{name}_sha256", String(64), nullable=False) for name in names),
    ]


def _people(tables: MetaData) -> None:
    Table(
        "athletes",
        tables,
        _id(),
        Column("name", Text, nullable=False),
        Column("born", Date),
        Column("age", Integer, CheckConstraint("age BETWEEN 0 AND 120", name="age_of_a_person")),
        Column("created", UtcTime, nullable=False),
    )
    words = Table(
        "athlete_words",
        tables,
        _to("athlete", "athletes.id", primary_key=True),
        Column("word", Text, primary_key=True),
    )
    Index("athletes_by_word", words.c.word)
    drafts = Table(
        "drafts",
        tables,
        _id(),
        Column("athlete", String(32), ForeignKey("athletes.id")),
        Column("text", Text, nullable=False),
        Column("revision", Integer, nullable=False),
        Column("saved", UtcTime, nullable=False),
    )
    Index("drafts_by_athlete", drafts.c.athlete)
    Table(
        "clinic",
        tables,
        Column("id", Integer, CheckConstraint("id = 1", name="one_clinic"), primary_key=True, autoincrement=False),
        Column("settings", Text, nullable=False),
        Column("saved", UtcTime, nullable=False),
    )
    # Only the random id of who was erased: what was erased stays so when an older backup is restored.
    Table("erasures", tables, Column("athlete", String(32), primary_key=True), Column("at", UtcTime, nullable=False))


def _records(tables: MetaData) -> None:
    visits = Table(
        "visits",
        tables,
        _id(),
        _to("athlete", "athletes.id"),
        Column("day", Date, nullable=False),
        Column("text", Text, nullable=False),
        Column("prepared_by", Text, nullable=False),
        Column("entered", UtcTime, nullable=False),
    )
    Index("visits_by_athlete", visits.c.athlete, visits.c.day)
    sheets = Table(
        "sheets",
        tables,
        _id(),
        _to("visit", "visits.id"),
        Column("issued", UtcTime, nullable=False),
        *_files("pdf", "plan", "phone", "note"),
    )
    Index("sheets_by_visit", sheets.c.visit)
    Table(
        "texts",
        tables,
        Column("sha256", String(64), primary_key=True),
        Column("section", Text, nullable=False),
        Column("record", Text, nullable=False),
        Column("content", Text, nullable=False),
    )
    Table(
        "sheet_texts",
        tables,
        _to("sheet", "sheets.id", primary_key=True),
        _to("sha256", "texts.sha256", primary_key=True),
    )
    amendments = Table(
        "amendments",
        tables,
        _id(),
        _to("sheet", "sheets.id"),
        Column("day", Date, nullable=False),
        Column("issued", UtcTime, nullable=False),
        *_files("pdf", "json", "phone"),
    )
    Index("amendments_by_sheet", amendments.c.sheet)
    Table("check_ins", tables, _to("visit", "visits.id", primary_key=True), Column("json", Text, nullable=False))


_ERASED = {
    "sheets": "SELECT 1 FROM erasures JOIN visits ON visits.athlete = erasures.athlete WHERE visits.id = OLD.visit",
    "amendments": (
        "SELECT 1 FROM erasures JOIN visits ON visits.athlete = erasures.athlete "
        "JOIN sheets ON sheets.visit = visits.id WHERE sheets.id = OLD.sheet"
    ),
    "texts": "SELECT 1 WHERE 0",
}
"""When a row may go: its athlete is being erased. The library's texts hold no athlete, and stay."""


def _triggers() -> list[str]:
    found = [
        "CREATE TRIGGER visits_of_sheets_never_change BEFORE UPDATE ON visits "
        "WHEN EXISTS (SELECT 1 FROM sheets WHERE sheets.visit = OLD.id) "
        "BEGIN SELECT RAISE(ABORT, 'the visit of an issued sheet never changes'); END"
    ]
    for name, erased in _ERASED.items():
        key = "sha256" if name == "texts" else "id"
        said = f"BEGIN SELECT RAISE(ABORT, 'what was issued never changes ({name})'); END"
        found += [
            f"CREATE TRIGGER {name}_never_change BEFORE UPDATE ON {name} {said}",
            f"CREATE TRIGGER {name}_stay BEFORE DELETE ON {name} WHEN NOT EXISTS ({erased}) {said}",
            # INSERT OR REPLACE would delete without a trigger on a connection that does not ask for it.
            f"CREATE TRIGGER {name}_are_new BEFORE INSERT ON {name} "
            f"WHEN EXISTS (SELECT 1 FROM {name} WHERE {key} = NEW.{key}) {said}",
        ]
    return found
