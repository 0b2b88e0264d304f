"""Every form with every bad value: told in a summary with the focus and beside the field, all
entries kept, nothing saved.

Forms are found in the application itself; one without a row in `form_rows` fails. What a field
may not hold follows from its kind, so that a new field is tried without being listed.

References:
    WCAG 2.2: 1.3.1 Info and Relationships, 3.3.1 Error Identification, 3.3.3 Error Suggestion.
"""

from __future__ import annotations

import html
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import httpx
import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from sqlmodel import Session, delete

from app.access import Role, enter_agency
from app.convert import write_household
from app.models import AccountRow
from app.models_links import OneTimeLinkRow
from app.routers.settings_terms import FORMS
from app.security import hash_password, hash_secret
from app.services_accounts import add_member
from app.services_feeds import make_feed_address
from app.views_what_if import QUESTIONS
from tests.app.data_builders import UTC_NOW, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.form_reader import FormPage, ShownForm
from tests.app.pages.form_rows import (
    BUTTONS,
    EMPTY,
    LONG,
    LONG_AGO,
    NEGATIVE,
    NOT_OFFERED,
    PASSWORD,
    RESET,
    ROWS,
    SECRET,
    SPECIAL,
    TOO_FAR,
    Row,
)
from tests.app.pages.test_every_route import all_routes
from tests.app.pages.visitor import Visitor

BAD = {
    "number": (EMPTY, "lots", NEGATIVE, "99999999999"),
    "date": (EMPTY, "2026-02-30", LONG_AGO, TOO_FAR),
    "time": (EMPTY, "25:00"),
    "text": (EMPTY, LONG),
    "search": (EMPTY, LONG),
    "tel": (EMPTY, LONG),
    "email": (EMPTY, LONG),
    "password": (EMPTY, LONG),
    "select": (NOT_OFFERED,),
    "radio": (EMPTY, NOT_OFFERED),
    "file": (EMPTY,),
    "checkbox": (),
    "hidden": (),
}
"""By kind of field, what it may not hold unless its row says so."""

NOT_SHOWN_AGAIN = frozenset({"password", "file", "hidden"})


@pytest.fixture
def further(db: Session, people: dict[str, AccountRow]) -> None:
    """An address for the coordinator's calendar, a household without entries, a password."""
    write_household(db, make_household(id="bare", sessions=(), ledger=(), orders=()))
    add_member(db, people["cara"], "bare", Role.CARER)
    people["cara"].password_hash = hash_password(PASSWORD)
    db.add(people["cara"])
    db.commit()
    make_feed_address(db, enter_agency(db, people["cody"], "ours"), detailed=False, now=UTC_NOW)


@pytest.fixture
def links(db: Session, people: dict[str, AccountRow], further: None) -> None:
    """A link that invites, and one for a lost password."""
    add_links(db, people)


def add_links(db: Session, people: dict[str, AccountRow]) -> None:
    """The links, unused."""
    db.exec(delete(OneTimeLinkRow))
    for secret, purpose in ((SECRET, "invite"), (RESET, "password")):
        is_invite = purpose == "invite"
        link = OneTimeLinkRow(
            token_hash=hash_secret(secret),
            purpose=purpose,
            household_id="home" if is_invite else None,
            role="viewer" if is_invite else None,
            account_id=None if is_invite else people["pat"].id,
            made_by=people["cara"].id,
            made_at=UTC_NOW,
            expires_at=UTC_NOW + timedelta(days=1),
        )
        db.add(link)
    db.commit()


@pytest.fixture
def visit(enter: Enter, client: TestClient, links: None) -> Visitor:
    """Whoever is not signed in; `sent_by` signs in whom a row names."""
    client.cookies.clear()
    return Visitor(client)


def visitor_of(row: Row, enter: Enter, nobody: Visitor) -> Visitor:
    return nobody if row.who == "nobody" else enter(row.who)


def everything_in(folder: Path) -> list[str]:
    """What stands in the database; sign-ins and their attempts count every page that is seen."""
    with closing(sqlite3.connect(folder / "ebbstock.db")) as db:
        lines = list(db.iterdump())
    passing = ('INSERT INTO "login', 'INSERT INTO "attempt', 'INSERT INTO "stored_plan')
    return [line for line in lines if not line.startswith(passing)]


def without_number(name: str) -> str:
    return re.sub(r"\[\d+\]", "[]", name)


def is_tried(name: str) -> bool:
    """Of lines that are all alike, the first and the second."""
    found = re.search(r"\[(\d+)\]", name)
    return found is None or int(found[1]) <= 2


def bad_values(row: Row, form: ShownForm) -> Iterator[tuple[dict[str, str], str]]:
    """What is sent, and the field that is to be named."""
    for name, shown in form.fields.items():
        taken = row.takes.get(without_number(name), ())
        for value in BAD[shown.kind] if is_tried(name) and name not in row.passed_over else ():
            if value not in taken:
                yield {name: value}, row.named.get(name, name)
    for changes, name in row.refused:
        yield dict(changes), name


def shown_form(row: Row, visitor: Visitor) -> ShownForm:
    page = visitor.get(row.page or row.path)
    assert page.status_code == 200, (row.page or row.path, page.status_code)
    return FormPage(page.text).form(row.path, row.page or row.path)


def anchor_of(name: str) -> str:
    return "file" if name == "file" else "f-" + re.sub(r"[^a-z0-9]+", "-", name).strip("-")


def wrong_with(answer: httpx.Response, row: Row, sent: dict[str, str], name: str) -> list[str]:
    """What is wrong with the page that tells of a bad value."""
    if answer.status_code != row.status:
        return [f"answered {answer.status_code}"]
    page = FormPage(answer.text)
    links = re.findall(r'<li><a href="#([^"]+)">([^<]+)</a></li>', answer.text)
    said = {html.unescape(text) for target, text in links if target == anchor_of(name)}
    found = [] if said else [f"has no link to the field, but {links}"]
    summary = page.elements.get("faults", {})
    if summary.get("role") != "alert" or not {"autofocus", "tabindex"} <= summary.keys():
        found.append("has no summary with the focus")
    if answer.text.count(" autofocus") != 1:
        found.append("has several places that want the focus")
    return found + wrong_at(page, name, said) + not_kept(page, row, sent)


def wrong_at(page: FormPage, name: str, said: set[str]) -> list[str]:
    """What is wrong where the field stands."""
    element = page.elements.get(anchor_of(name))
    if element is None:
        return ["has no such field"]
    beside = {page.texts.get(one, "") for one in element.get("aria-describedby", "").split()}
    # A file has faults of its own, by line; beside its field stands that there are some.
    wanted = {"This file cannot be used"} if name == "file" else said
    found = [] if wanted <= beside else [f"does not say {wanted} beside the field, but {beside}"]
    mark = "tabindex" if element["tag"] == "fieldset" else "aria-invalid"
    return found if mark in element else [*found, f"has no {mark} at the field"]


def not_kept(page: FormPage, row: Row, sent: dict[str, str]) -> list[str]:
    """Entries that are shown otherwise than they were sent."""
    found = []
    for name, shown in page.form(row.path, row.page or row.path).fields.items():
        wanted = sent.get(name, "")
        is_choice = bool(shown.offered) and wanted not in shown.offered
        if shown.kind not in NOT_SHOWN_AGAIN and not is_choice and shown.value != wanted:
            found.append(f"shows {shown.value[:40]!r} in {name} instead of {wanted[:40]!r}")
    return found


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row.path)
def test_bad_values_are_told_and_lose_nothing_and_good_ones_are_taken(
    row: Row, enter: Enter, visit: Visitor, tmp_path: Path
) -> None:
    visitor = visitor_of(row, enter, visit)
    form = shown_form(row, visitor)
    complete = form.values | dict(row.fill)
    before = everything_in(tmp_path)
    found = []
    tried = 0
    for changes, name in bad_values(row, form):
        sent = complete | changes
        wrong = wrong_with(visitor.post(row.path, sent), row, sent, name)
        found += [f"{changes} at {name}: {one}"[:600] for one in wrong]
        tried += 1
    assert not found, "\n" + "\n".join(found)
    assert tried or row.takes, "No field of this form was tried."
    assert everything_in(tmp_path) == before
    take_all(row, visitor, form)


def take_all(row: Row, visitor: Visitor, form: ShownForm) -> None:
    """Send what only looks bad, so that no exception stays listed which is none."""
    assert set(row.takes) <= {without_number(name) for name in form.fields}
    for n in range(max((len(values) for values in row.takes.values()), default=0)):
        changes = {
            name: row.takes[without_number(name)][n]
            for name in form.fields
            if n < len(row.takes.get(without_number(name), ())) and name not in row.fill
        }
        sent = shown_form(row, visitor).values | dict(row.fill) | changes
        answer = visitor.post(row.path, sent)
        assert answer.status_code in (200, 303), (changes, answer.status_code)
        if row.who == "cara":
            assert visitor.get("/h/home").status_code == 200, changes


def test_every_form_has_a_row(client: TestClient) -> None:
    application = client.app
    assert isinstance(application, FastAPI)
    posted = {path for method, path in all_routes(application) if method == "POST"}
    listed = {row.route for row in ROWS} | BUTTONS | set(SPECIAL)
    assert posted - listed == set(), "Give these a row in tests/app/pages/form_rows.py."
    assert listed - posted == set()
    paths = {row.path for row in ROWS}
    assert {f"/h/home/settings/{one}" for one in FORMS} <= paths
    assert {f"/h/home/what-if/{one.kind}" for one in QUESTIONS} <= paths
