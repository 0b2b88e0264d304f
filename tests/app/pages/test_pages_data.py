"""Saving a household as a file, reading one in, deleting it."""

from __future__ import annotations

import re

import httpx
import pytest
from fastapi.testclient import TestClient
from sqlmodel import Session, select

from app.access import Role
from app.convert import write_household
from app.exporting import household_file
from app.middleware import LARGEST_FILE_BYTES
from app.models import AccountRow, HouseholdRow
from app.services_accounts import add_member
from app.wording import STANDING_CAUTION
from planner.scenario import ScenarioFile
from planner.scenario_writer import write_scenario
from tests.app.data_builders import TODAY, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.test_pages_everywhere import check
from tests.app.pages.visitor import Visitor, faults_of, text_of
from tests.planner.scenario_builders import spoilt

PAGES = ("/h/home/data", "/h/home/delete")


def upload(
    visitor: Visitor, page: str, content: bytes | None, to: str = "", **values: str
) -> httpx.Response:
    """Choose a file on a page and send it as a browser would."""
    form = visitor.form(page, "form_token")
    sent = {"form_token": form.values["form_token"]} | values
    files = None if content is None else {"file": ("copy.toml", content)}
    answer: httpx.Response = visitor.client.post(to or page, data=sent, files=files)
    return answer


def a_file(**changes: object) -> bytes:
    household = make_household(**changes)
    return write_scenario(ScenarioFile(as_of=TODAY, households=(household,))).encode()


@pytest.fixture
def bare(db: Session, people: dict[str, AccountRow]) -> None:
    """A household of the stranger's without entries."""
    write_household(db, make_household(id="bare", name="Bare", sessions=(), ledger=(), orders=()))
    add_member(db, people["stranger"], "bare", Role.CARER)
    db.commit()


@pytest.mark.parametrize("who", ["pat", "cara", "cody"])
def test_who_manages_saves_the_file(who: str, enter: Enter, db: Session) -> None:
    visitor = enter(who)
    assert 'href="/h/home/data"' in visitor.get("/h/home/people").text
    for path in PAGES:
        page = visitor.get(path)
        check(page.text)
        assert STANDING_CAUTION in page.text
        assert 'href="/h/home/data/supplies.toml"' in page.text
    answer = visitor.get("/h/home/data/supplies.toml")
    assert answer.headers["content-type"] == "application/toml"
    assert answer.headers["content-disposition"] == (
        'attachment; filename="supplies-2026-03-11.toml"'
    )
    assert answer.headers["cache-control"] == "no-store"
    assert answer.text == household_file(db, "home")


def test_a_viewer_neither_saves_nor_deletes(enter: Enter) -> None:
    vic = enter("vic")
    assert "/h/home/data" not in vic.get("/h/home/people").text
    for path in (*PAGES, "/h/home/data/supplies.toml"):
        assert vic.get(path).status_code == 404


def test_a_saved_file_is_read_in_as_a_household_of_one_s_own(enter: Enter, db: Session) -> None:
    saved = enter("cara").get("/h/home/data/supplies.toml").content
    visitor = enter("rival")
    answer = upload(visitor, "/import", saved, role="carer")
    said = visitor.follow(answer)
    assert "The file is read in." in said
    key = re.fullmatch(r"/h/([0-9a-f]{32})\?done=imported", answer.headers["location"])
    assert key is not None
    assert visitor.get(f"/h/{key[1]}/data/supplies.toml").content == saved
    assert "rival (you) Carer" in visitor.see(f"/h/{key[1]}/people")


@pytest.mark.parametrize("role", ["", "viewer", "coordinator", "boss"])
def test_whoever_reads_a_household_in_is_in_charge_of_it(role: str, enter: Enter) -> None:
    visitor = enter("rival")
    answer = upload(visitor, "/import", a_file(), role=role)
    path = answer.headers["location"].partition("?")[0]
    assert "rival (you) Patient" in visitor.see(f"{path}/people")


BAD = {
    "none": (None, "the file is empty: choose a file that was saved here"),
    "empty": (b"", "the file is empty: choose a file that was saved here"),
    "no text": (b"\xff\xfe\x00", "the file is not UTF-8 text: save it as plain UTF-8 text."),
    "no TOML": (b"format = 1\nas_of = \n", "the file is not valid TOML: correct it at line 2"),
    "a bad field": (
        spoilt("ml = [180]", "ml = [-5]").encode(),
        "sessions[1].bottles[1].ml is -5: give 0 to 5000 mL.",
    ),
    "two households": (
        write_scenario(
            ScenarioFile(as_of=TODAY, households=(make_household(id="a"), make_household(id="b")))
        ).encode(),
        "households is 2 in one file: choose a file with 1 of them.",
    ),
}


@pytest.mark.parametrize("kind", BAD)
def test_a_bad_file_is_named_and_nothing_is_saved(kind: str, enter: Enter, db: Session) -> None:
    content, sentence = BAD[kind]
    before = set(db.exec(select(HouseholdRow.id)))
    db.rollback()
    page = upload(enter("rival"), "/import", content, role="carer")
    assert page.status_code == 422
    (fault,) = faults_of(page)
    assert fault.startswith(sentence)
    assert "Nothing was saved." in text_of(page)
    assert re.search(r'value="carer" checked', page.text)
    check(page.text)
    assert set(db.exec(select(HouseholdRow.id))) == before


def test_of_very_many_faults_the_first_are_shown(enter: Enter) -> None:
    wrong = "".join(f'\n[[sessions]]\nat = "day {n}"\nml = [100]\n' for n in range(30))
    page = upload(enter("rival"), "/import", a_file(sessions=()) + wrong.encode())
    assert len(faults_of(page)) == 20
    assert re.search(r"And \d+ more\. Correct these first\.", text_of(page))


def test_a_file_has_a_largest_size_and_other_forms_a_smaller_one(enter: Enter) -> None:
    visitor = enter("rival")
    filler = b"# " + b"x" * (LARGEST_FILE_BYTES - 20_000) + b"\n"
    assert upload(visitor, "/import", filler + a_file()).status_code == 303
    too_large = upload(visitor, "/import", b"# " + b"x" * LARGEST_FILE_BYTES)
    assert too_large.status_code == 413
    assert too_large.text == "This is too large. Send at most 512 KB. Nothing was saved."
    other = upload(visitor, "/import", b"x" * 300_000, to="/account/name")
    assert other.status_code == 413


def test_an_agency_reads_many_households_in(enter: Enter, db: Session) -> None:
    visitor = enter("cody")
    assert 'href="/agency/ours/import"' in visitor.get("/agency/ours/people").text
    check(visitor.get("/agency/ours/import").text)
    many = tuple(make_household(id=f"h{n}", name=f"Home {n}") for n in range(2))
    content = write_scenario(ScenarioFile(as_of=TODAY, households=many)).encode()
    answer = upload(visitor, "/agency/ours/import", content)
    assert answer.headers["location"] == "/agency/ours"
    said = visitor.follow(answer)
    assert "3 households" in said
    assert "Home 0" in said
    assert "Home 1" in said
    page = upload(visitor, "/agency/ours/import", b"nonsense")
    assert page.status_code == 422
    check(page.text)


def test_an_empty_household_takes_a_file(bare: None, enter: Enter) -> None:
    visitor = enter("stranger")
    check(visitor.get("/h/bare/data").text)
    assert "so a file can take its place" in visitor.see("/h/bare/data")
    bad = upload(visitor, "/h/bare/data", b"", to="/h/bare/import")
    assert bad.status_code == 422
    assert "the file is empty" in text_of(bad)
    answer = upload(visitor, "/h/bare/data", a_file(), to="/h/bare/import")
    assert "The file is read in." in visitor.follow(answer)
    assert visitor.get("/h/bare").status_code == 404


def test_a_household_with_entries_offers_no_file_and_takes_none(enter: Enter) -> None:
    visitor = enter("cara")
    assert 'type="file"' not in visitor.get("/h/home/data").text
    page = upload(visitor, "/h/home/people", a_file(), to="/h/home/import")
    assert page.status_code == 409
    assert "has entries already" in text_of(page)


def test_deleting_asks_for_the_name_and_says_what_goes(enter: Enter) -> None:
    visitor = enter("pat")
    said = visitor.see("/h/home/delete")
    for line in ("sessions: 12", "orders: 1", "the places of 3 people", "Save a copy first"):
        assert line in said
    page = visitor.send("/h/home/delete", {"name": "my home"}, "name")
    assert page.status_code == 422
    assert faults_of(page) == ["The name is my home. Write Household of the tests to delete it."]
    assert 'value="my home"' in page.text
    check(page.text)
    gone = visitor.send("/h/home/delete", {"name": "household of the tests"}, "name")
    assert "The household is deleted" in text_of(gone)
    check(gone.text)
    for path in ("/h/home", "/h/home/data", "/h/home/data/supplies.toml"):
        assert visitor.get(path).status_code == 404
    assert visitor.get("/").headers["location"] == "/start"


def test_deleting_needs_the_form_of_one_s_own_browser(enter: Enter, client: TestClient) -> None:
    visitor = enter("pat")
    values = {"name": "Household of the tests", "form_token": "guess"}
    assert visitor.post("/h/home/delete", values).status_code == 403
    assert visitor.get("/h/home").status_code == 200
