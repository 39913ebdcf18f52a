"""The athletes: added, found by any beginning of their names, renamed."""

from __future__ import annotations

import re
import secrets
import unicodedata
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import ColumnElement, Connection, and_, delete, insert, select, true, update

from homecare.storage.tables import athlete_words, athletes

MAX_FOUND = 20
"""So many athletes a search gives: more than fit on a screen are not looked through (common practice)."""
MOST_WORDS, MOST_TYPED = 8, 200
"""Of what is typed into a search so many words and letters count: more narrow nothing, and would take long."""
_LETTERS = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "\u0131": "i", "æ": "ae", "œ": "oe", "þ": "th"})
_LAST = "\U0010ffff"


@dataclass(frozen=True)
class Athlete:
    """One athlete. `age` in years is as it was told when the record was made; `born` says more where it is known."""

    id: str
    name: str
    born: date | None
    age: int | None
    created: datetime


def new_id() -> str:
    """A random id of 128 bits, so that no address names or numbers anybody."""
    return secrets.token_urlsafe(16)


def add_athlete(
    connection: Connection,
    name: str,
    at: datetime,
    *,
    born: date | None = None,
    age: int | None = None,
    id: str | None = None,
) -> Athlete:
    """Add an athlete; two of one name are two. Raises ValueError for an empty name."""
    athlete = Athlete(id or new_id(), _tidy(name), born, age, at)
    connection.execute(insert(athletes).values(**vars(athlete), sorting=_sorting(athlete.name)))
    _index(connection, athlete.id, athlete.name)
    return athlete


def find_athlete(connection: Connection, id: str) -> Athlete | None:
    """The athlete of an id, None when there is none (any more)."""
    row = connection.execute(select(*ATHLETE).where(athletes.c.id == id)).one_or_none()
    return Athlete(**row._mapping) if row else None


def rename_athlete(connection: Connection, id: str, name: str) -> None:
    """Another name from now on; what was issued keeps the old one. Raises KeyError, or ValueError for an empty name."""
    tidy = _tidy(name)
    changed = update(athletes).where(athletes.c.id == id).values(name=tidy, sorting=_sorting(tidy))
    if not connection.execute(changed).rowcount:
        raise KeyError(id)
    connection.execute(delete(athlete_words).where(athlete_words.c.athlete == id))
    _index(connection, id, tidy)


def search_athletes(connection: Connection, typed: str) -> tuple[Athlete, ...]:
    """Those of whose names each typed word begins a word, by name; accents and capitals do not count.

    At most MAX_FOUND; nothing typed finds nobody.
    """
    if not name_words(typed[:MOST_TYPED]):
        return ()
    question = select(*ATHLETE).where(called(typed)).order_by(athletes.c.sorting, athletes.c.id).limit(MAX_FOUND)
    return tuple(Athlete(**row._mapping) for row in connection.execute(question))


def called(typed: str) -> ColumnElement[bool]:
    """The condition that each typed word begins a word of the athlete's name; nothing typed fits everybody."""
    return and_(
        true(),
        *(
            athletes.c.id.in_(select(athlete_words.c.athlete).where(athlete_words.c.word.between(word, word + _LAST)))
            for word in name_words(typed[:MOST_TYPED])[:MOST_WORDS]
        ),
    )


def name_words(name: str) -> tuple[str, ...]:
    """The words of a name as they are searched: small letters without accents, each word once."""
    # Twice: letters in a script of their own become plain capitals, and folded letters may carry accents again.
    plain = unicodedata.normalize("NFKD", name).casefold().translate(_LETTERS)
    plain = unicodedata.normalize("NFKD", plain)
    plain = "".join(letter for letter in plain if not unicodedata.combining(letter))
    # O'Neil is found as "oneil" and by "neil" alike.
    joined = re.sub(r"(?<=\w)['\u2019](?=\w)", "", plain)
    return tuple(dict.fromkeys(re.findall(r"[^\W_]+", f"{joined} {plain}" if joined != plain else plain)))


def _tidy(name: str) -> str:
    tidy = " ".join(unicodedata.normalize("NFC", name).split())
    if not name_words(tidy):
        raise ValueError("a name needs a letter")
    return tidy


def _index(connection: Connection, id: str, name: str) -> None:
    connection.execute(insert(athlete_words), [{"athlete": id, "word": word} for word in name_words(name)])


def _sorting(name: str) -> str:
    """Names in the order of their letters, whatever the accents and capitals."""
    return " ".join(name_words(name))


ATHLETE = tuple(column for column in athletes.c if column.name != "sorting")
"""The columns of an `Athlete`."""
