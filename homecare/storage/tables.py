"""The tables as they are today, for queries; what keeps them in order (keys, triggers) stands in the migrations."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import Boolean, Date, DateTime, Dialect, Integer, LargeBinary, String, TypeDecorator, column, table
from sqlalchemy.sql.type_api import TypeEngine


class UtcTime(TypeDecorator[datetime]):
    """A moment: given with its time zone, kept in UTC, given back in UTC."""

    impl = DateTime
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[datetime]:
        """SQLite has no time zones and keeps the bare UTC time; others keep the zone too."""
        return dialect.type_descriptor(DateTime(timezone=dialect.name != "sqlite"))

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Raises ValueError for a moment without a time zone: nobody could say when it was."""
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("a moment needs its time zone")
        moment = value.astimezone(UTC)
        return moment.replace(tzinfo=None) if dialect.name == "sqlite" else moment

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """The same moment, in UTC."""
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


clinic = table(
    "clinic", column("id", Integer), column("settings", String), column("saved", UtcTime), column("logo", LargeBinary)
)
people = table(
    "people",
    column("id", String),
    column("name", String),
    column("name_key", String),
    column("passphrase_hash", String),
    column("role", String),
    column("created", UtcTime),
    column("signed_out", UtcTime),
    column("ended", UtcTime),
)
usuals = table(
    "usuals",
    column("id", String),
    column("name", String),
    column("name_key", String),
    column("text", String),
    column("saved", UtcTime),
)
backups = table(
    "backups",
    column("at", UtcTime),
    column("size", Integer),
    column("athletes", Integer),
    column("sheets", Integer),
    column("library_files", Integer),
)
athletes = table(
    "athletes",
    column("id", String),
    column("name", String),
    column("sorting", String),
    column("born", Date),
    column("age", Integer),
    column("created", UtcTime),
)
athlete_words = table("athlete_words", column("athlete", String), column("word", String))
drafts = table(
    "drafts",
    column("id", String),
    column("athlete", String),
    column("text", String),
    column("revision", Integer),
    column("saved", UtcTime),
)
erasures = table("erasures", column("athlete", String), column("at", UtcTime), column("wiped", Boolean))
visits = table(
    "visits",
    column("id", String),
    column("athlete", String),
    column("day", Date),
    column("text", String),
    column("prepared_by", String),
    column("entered", UtcTime),
)
sheets = table(
    "sheets",
    column("id", String),
    column("visit", String),
    column("athlete", String),
    column("issued", UtcTime),
    column("first_day", Date),
    column("last_day", Date),
    column("drills", Integer),
    column("review_by", Date),
    column("refer", String),
    column("pdf_sha256", String),
    column("plan_sha256", String),
    column("phone_sha256", String),
    column("note_sha256", String),
    column("pdf", LargeBinary),
    column("plan", LargeBinary),
    column("phone", LargeBinary),
    column("note", LargeBinary),
)
latest_sheets = table("latest_sheets", column("athlete", String), column("sheet", String), column("last_day", Date))
planned_days = table("planned_days", column("sheet", String), column("what", String), column("day", Date))
texts = table(
    "texts", column("sha256", String), column("section", String), column("record", String), column("content", String)
)
sheet_texts = table("sheet_texts", column("sheet", String), column("sha256", String))
amendments = table(
    "amendments",
    column("id", String),
    column("sheet", String),
    column("day", Date),
    column("issued", UtcTime),
    column("pdf_sha256", String),
    column("json_sha256", String),
    column("phone_sha256", String),
    column("pdf", LargeBinary),
    column("json", LargeBinary),
    column("phone", LargeBinary),
)
check_ins = table(
    "check_ins",
    column("id", String),
    column("sheet", String),
    column("visit", String),
    column("day", Date),
    column("json", String),
    column("entered", UtcTime),
)
migrations = table("migrations", column("number", Integer), column("name", String), column("applied", UtcTime))

PRESENT = (
    clinic, people, usuals, backups, athletes, athlete_words, drafts, erasures, visits, sheets, latest_sheets,
    planned_days, texts, sheet_texts, amendments, check_ins, migrations,
)  # fmt: skip
"""All of them."""
