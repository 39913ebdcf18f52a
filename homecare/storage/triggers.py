"""What keeps issued records as they are, whichever program writes to the file: no change, no other, no end."""

from __future__ import annotations

_OF_AN_ERASED = {
    "visits": "SELECT 1 FROM erasures WHERE athlete = OLD.athlete",
    "sheets": "SELECT 1 FROM erasures WHERE athlete = OLD.athlete",
    "amendments": (
        "SELECT 1 FROM erasures JOIN sheets ON sheets.athlete = erasures.athlete WHERE sheets.id = OLD.sheet"
    ),
    "sheet_texts": (
        "SELECT 1 FROM erasures JOIN sheets ON sheets.athlete = erasures.athlete WHERE sheets.id = OLD.sheet"
    ),
    "texts": "SELECT 1 WHERE 0",
}
"""When a row may go: its athlete is being erased. The library's texts hold no athlete, and stay."""

_KEYS = {"texts": ("sha256",), "sheet_texts": ("sheet", "sha256")}


def triggers() -> list[str]:
    """The statements that make them."""
    found = []
    for name, erased in _OF_AN_ERASED.items():
        key = " AND ".join(f"{column} = NEW.{column}" for column in _KEYS.get(name, ("id",)))
        said = f"BEGIN SELECT RAISE(ABORT, 'what was issued never changes ({name})'); END"
        found += [
            f"CREATE TRIGGER {name}_never_change BEFORE UPDATE ON {name} {said}",
            f"CREATE TRIGGER {name}_stay BEFORE DELETE ON {name} WHEN NOT EXISTS ({erased}) {said}",
            # INSERT OR REPLACE deletes without a trigger on a connection that does not ask for it, also by the rowid.
            f"CREATE TRIGGER {name}_are_new BEFORE INSERT ON {name} "
            f"WHEN EXISTS (SELECT 1 FROM {name} WHERE ({key}) OR rowid = NEW.rowid) {said}",
        ]
    return found
