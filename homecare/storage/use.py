"""Who has something of the library in hand: counted over the sheets that athletes were given last."""

from __future__ import annotations

from sqlalchemy import Connection, func, select

from homecare.storage.tables import latest_sheets, sheet_texts, texts


def athletes_with(connection: Connection, section: str, record: str) -> int:
    """How many athletes have a record, in whatever wording, on their latest sheet or a slip to it."""
    question = select(func.count(latest_sheets.c.athlete.distinct()))
    question = question.join(sheet_texts, sheet_texts.c.sheet == latest_sheets.c.sheet)
    question = question.join(texts, texts.c.sha256 == sheet_texts.c.sha256)
    found = connection.execute(question.where(texts.c.section == section, texts.c.record == record)).scalar_one()
    return int(found)
