"""Who may sign in, the clinic's starting sets, its settings, and drafts that two people have open."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import insert
from sqlalchemy.exc import IntegrityError

from homecare.storage import clinic, drafts, people, tables, usuals
from homecare.storage.database import Database
from homecare.storage.people import LastOwner, NameTaken
from tests.storage.made import AT, athlete_in

LATER = AT + timedelta(hours=3)


def test_a_name_is_one_persons_whatever_its_capitals(database: Database) -> None:
    with database.write() as connection:
        one = people.add_person(connection, " Dora   Achterberg ", "hash", "owner", AT)
        with pytest.raises(NameTaken):
            people.add_person(connection, "dora achterberg", "hash", "member", AT)
        assert people.find_person(connection, "DORA ACHTERBERG") == one == people.person_of(connection, one.id)
        assert people.find_person(connection, "Dora") is None
    assert one.name == "Dora Achterberg"
    assert "hash" not in repr(one).replace("passphrase_hash", "")


def test_the_name_of_one_who_has_ended_is_free_again(database: Database) -> None:
    with database.write() as connection:
        one = people.add_person(connection, "Dora", "hash", "owner", AT)
        people.add_person(connection, "Emil", "hash", "owner", AT)
        people.end_person(connection, one.id, LATER)
        again = people.add_person(connection, "dora", "other", "member", LATER)
        assert people.find_person(connection, "Dora") == again
        assert [person.name for person in people.list_people(connection)] == ["dora", "Emil"]
        assert len(people.list_people(connection, ended=True)) == 3
        with pytest.raises(KeyError):
            people.change_passphrase(connection, one.id, "x", LATER)


def test_the_database_itself_refuses_a_second_of_a_name(database: Database) -> None:
    with database.write() as connection:
        one = people.add_person(connection, "Dora", "hash", "owner", AT)
    with pytest.raises(IntegrityError), database.write() as connection:
        connection.execute(insert(tables.people).values(**{**vars(one), "id": "other", "name_key": "dora"}))


def test_the_last_owner_stays(database: Database) -> None:
    with database.write() as connection:
        owner = people.add_person(connection, "Dora", "hash", "owner", AT)
        member = people.add_person(connection, "Emil", "hash", "member", AT)
        with pytest.raises(LastOwner):
            people.end_person(connection, owner.id, LATER)
        with pytest.raises(LastOwner):
            people.change_role(connection, owner.id, "member")
        people.change_role(connection, member.id, "owner")
        people.end_person(connection, owner.id, LATER)
        assert people.list_people(connection)[0].role == "owner"


def test_sessions_end_with_a_new_passphrase_and_when_told(database: Database) -> None:
    with database.write() as connection:
        one, other = (people.add_person(connection, name, "hash", "owner", AT) for name in ("Dora", "Emil"))
        people.change_passphrase(connection, one.id, "new", LATER)
        assert [person.signed_out for person in people.list_people(connection)] == [LATER, AT]
        people.sign_out(connection, LATER, other.id)
        assert [person.signed_out for person in people.list_people(connection)] == [LATER, LATER]
        people.sign_out(connection, LATER + timedelta(hours=1))
        assert {person.signed_out for person in people.list_people(connection)} == {LATER + timedelta(hours=1)}


def test_a_starting_set_is_saved_renamed_and_removed(database: Database) -> None:
    with database.write() as connection:
        one = usuals.save_usual(connection, "Runner's calf", "{}", AT)
        again = usuals.save_usual(connection, "runner's  CALF", '{"a": 1}', LATER)
        other = usuals.save_usual(connection, "Fencer's wrist", "{}", AT)
        assert (again.id, usuals.list_usuals(connection)) == (one.id, (other, again))
        with pytest.raises(NameTaken):
            usuals.rename_usual(connection, other.id, "Runner's Calf")
        usuals.rename_usual(connection, other.id, "FENCER'S wrist")
        usuals.rename_usual(connection, other.id, "Wrist")
        usuals.remove_usual(connection, one.id)
        assert [usual.name for usual in usuals.list_usuals(connection)] == ["Wrist"]
        assert usuals.find_usual(connection, one.id) is None
        with pytest.raises(KeyError):
            usuals.rename_usual(connection, one.id, "Other")


def test_settings_and_logo_are_saved_apart(database: Database) -> None:
    with database.write() as connection:
        assert (clinic.read_settings(connection), clinic.read_logo(connection)) == (None, None)
        clinic.save_logo(connection, b"\x89PNG", AT)
        clinic.save_settings(connection, "name: Brook Lane\n", LATER)
        assert (clinic.read_settings(connection), clinic.read_logo(connection)) == ("name: Brook Lane\n", b"\x89PNG")
        clinic.save_logo(connection, None, LATER)
        assert (clinic.read_settings(connection), clinic.read_logo(connection)) == ("name: Brook Lane\n", None)


def test_a_draft_is_never_written_over_unseen(database: Database) -> None:
    athlete = athlete_in(database)
    with database.write() as connection:
        draft = drafts.add_draft(connection, "mine", AT, athlete.id)
    with database.write() as connection:
        theirs = drafts.save_draft(connection, draft.id, "theirs", draft.revision, LATER, athlete.id)
    with pytest.raises(drafts.StaleDraft) as stale, database.write() as connection:
        drafts.save_draft(connection, draft.id, "mine again", draft.revision, LATER, athlete.id)
    assert stale.value.now == theirs
    with database.write() as connection:
        assert drafts.drafts_of_athlete(connection, athlete.id) == (theirs,) == drafts.list_drafts(connection)
        drafts.drop_draft(connection, draft.id, theirs.revision)
        with pytest.raises(drafts.StaleDraft, match="this draft is gone") as gone:
            drafts.save_draft(connection, draft.id, "mine again", theirs.revision, LATER)
    assert gone.value.now is None
