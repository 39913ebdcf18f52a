"""The tables as they are today, for queries; what keeps them in order (keys, triggers) stands in the migrations."""

from __future__ import annotations

from datetime import UTC, datetime

from sqlalchemy import Date, DateTime, Dialect, Integer, LargeBinary, String, TypeDecorator, column, table
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


athletes = table(
    "athletes",
    column("id", String),
    column("name", String),
    column("born", Date),
    column("age", Integer),
    column("created", UtcTime),
)
athlete_words = table("athlete_words", column("athlete", String), column("word", String))
visits = table(
    "visits",
    column("id", String),
    column("athlete", String),
    column("day", Date),
    column("text", String),
    column("prepared_by", String),
    column("entered", UtcTime),
)
drafts = table(
    "drafts",
    column("id", String),
    column("athlete", String),
    column("text", String),
    column("revision", Integer),
    column("saved", UtcTime),
)
sheets = table(
    "sheets",
    column("id", String),
    column("visit", String),
    column("issued", UtcTime),
    column("pdf", LargeBinary),
    column("plan", LargeBinary),
    column("phone", LargeBinary),
    column("note", LargeBinary),
    column("pdf_sha256", String),
    column("plan_sha256", String),
    column("phone_sha256", String),
    column("note_sha256", String),
)
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
    column("pdf", LargeBinary),
    column("json", LargeBinary),
    column("phone", LargeBinary),
    column("pdf_sha256", String),
    column("json_sha256", String),
    column("phone_sha256", String),
)
check_ins = table("check_ins", column("visit", String), column("json", String))
clinic = table("clinic", column("id", Integer), column("settings", String), column("saved", UtcTime))
erasures = table("erasures", column("athlete", String), column("at", UtcTime))
migrations = table("migrations", column("number", Integer), column("name", String), column("applied", UtcTime))

PRESENT = (
    athletes, athlete_words, visits, drafts, sheets, texts, sheet_texts, amendments, check_ins, clinic, erasures,
    migrations,
)  # fmt: skip
"""All of them."""
