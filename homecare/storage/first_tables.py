"""The first migration: the tables that the desk's records began with. Once released, a change is a new migration."""

from __future__ import annotations

from sqlalchemy import (
    Boolean,
    CheckConstraint,
    Column,
    Connection,
    Date,
    ForeignKey,
    ForeignKeyConstraint,
    Index,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Text,
    UniqueConstraint,
    text,
)

from homecare.storage.tables import UtcTime
from homecare.storage.triggers import triggers


def first_tables(connection: Connection) -> None:
    """Make every table with its keys, indexes and the triggers that keep what was issued."""
    tables = MetaData()
    _house(tables)
    _athletes(tables)
    _visits(tables)
    _sheets(tables)
    tables.create_all(connection, checkfirst=False)
    for trigger in triggers():
        connection.exec_driver_sql(trigger)


def _id() -> Column[str]:
    return Column("id", String(32), primary_key=True)


def _to(column: str, target: str, primary_key: bool = False) -> Column[str]:
    """A reference with nothing that deletes on its own: erasing an athlete is the one way, and goes table by table."""
    return Column(column, String(64), ForeignKey(target), nullable=False, primary_key=primary_key)


def _files(*names: str) -> list[Column[bytes] | Column[str]]:
    """The files of a record, each with its hash; the last columns, so that reading the others passes no file."""
    return [
        *(Column(f"{name}_sha256", String(64), nullable=False) for name in names),
        *(Column(name, LargeBinary, nullable=False) for name in names),
    ]


def _house(tables: MetaData) -> None:
    Table(
        "clinic",
        tables,
        Column("id", Integer, CheckConstraint("id = 1", name="one_clinic"), primary_key=True, autoincrement=False),
        Column("settings", Text, nullable=False),
        Column("saved", UtcTime, nullable=False),
        Column("logo", LargeBinary),
    )
    people = Table(
        "people",
        tables,
        _id(),
        Column("name", Text, nullable=False),
        Column("name_key", Text, nullable=False),
        Column("passphrase_hash", Text, nullable=False),
        Column("role", Text, CheckConstraint("role IN ('owner', 'member')", name="a_role"), nullable=False),
        Column("created", UtcTime, nullable=False),
        Column("signed_out", UtcTime, nullable=False),
        Column("ended", UtcTime),
    )
    ended = text("ended IS NULL")
    Index("one_person_a_name", people.c.name_key, unique=True, sqlite_where=ended, postgresql_where=ended)
    Table(
        "usuals",
        tables,
        _id(),
        Column("name", Text, nullable=False),
        Column("name_key", Text, nullable=False, unique=True),
        Column("text", Text, nullable=False),
        Column("saved", UtcTime, nullable=False),
    )
    Table(
        "backups",
        tables,
        Column("at", UtcTime, primary_key=True),
        Column("size", Integer, nullable=False),
        Column("athletes", Integer, nullable=False),
        Column("sheets", Integer, nullable=False),
        Column("library_files", Integer, nullable=False),
    )


def _athletes(tables: MetaData) -> None:
    athletes = Table(
        "athletes",
        tables,
        _id(),
        Column("name", Text, nullable=False),
        Column("sorting", Text, nullable=False),
        Column("born", Date),
        Column("age", Integer, CheckConstraint("age BETWEEN 0 AND 120", name="age_of_a_person")),
        Column("created", UtcTime, nullable=False),
    )
    Index("athletes_by_name", athletes.c.sorting, athletes.c.id)
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
    # Only the random id of who was erased: what was erased stays so when an older backup is restored.
    Table(
        "erasures",
        tables,
        Column("athlete", String(32), primary_key=True),
        Column("at", UtcTime, nullable=False),
        Column("wiped", Boolean, nullable=False),
    )


def _visits(tables: MetaData) -> None:
    visits = Table(
        "visits",
        tables,
        _id(),
        _to("athlete", "athletes.id"),
        Column("day", Date, nullable=False),
        Column("text", Text, nullable=False),
        Column("prepared_by", Text, nullable=False),
        Column("entered", UtcTime, nullable=False),
        UniqueConstraint("id", "athlete"),
    )
    Index("visits_by_athlete", visits.c.athlete, visits.c.day)


def _sheets(tables: MetaData) -> None:
    sheets = Table(
        "sheets",
        tables,
        _id(),
        Column("visit", String(32), nullable=False),
        Column("athlete", String(32), nullable=False),
        Column("issued", UtcTime, nullable=False),
        Column("first_day", Date, nullable=False),
        Column("last_day", Date, nullable=False),
        Column("drills", Integer, nullable=False),
        Column("review_by", Date, nullable=False),
        Column("refer", Text, CheckConstraint("refer IN ('', 'soon', 'now')", name="an_urgency"), nullable=False),
        *_files("pdf", "plan", "phone", "note"),
        # A sheet is of the athlete whose visit it is of.
        ForeignKeyConstraint(["visit", "athlete"], ["visits.id", "visits.athlete"]),
    )
    Index("sheets_by_visit", sheets.c.visit)
    Index("sheets_by_athlete", sheets.c.athlete, sheets.c.first_day, sheets.c.issued)
    # The list of all athletes reads this, and passes none of the sheets themselves.
    Table(
        "latest_sheets",
        tables,
        _to("athlete", "athletes.id", primary_key=True),
        _to("sheet", "sheets.id"),
        Column("last_day", Date, nullable=False),
    )
    planned = Table(
        "planned_days",
        tables,
        _to("sheet", "sheets.id", primary_key=True),
        Column("what", Text, CheckConstraint("what IN ('visit', 'event')", name="what_day"), primary_key=True),
        Column("day", Date, primary_key=True),
    )
    Index("planned_by_day", planned.c.day, planned.c.what, planned.c.sheet)
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
    check_ins = Table(
        "check_ins",
        tables,
        _id(),
        _to("sheet", "sheets.id"),
        Column("visit", String(32), ForeignKey("visits.id"), unique=True),
        Column("day", Date, nullable=False),
        Column("json", Text, nullable=False),
        Column("entered", UtcTime, nullable=False),
    )
    Index("check_ins_by_sheet", check_ins.c.sheet, check_ins.c.day)
