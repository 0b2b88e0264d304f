"""The patient's page: the answer first, the picture and the same as a table."""

from __future__ import annotations

import re
from datetime import datetime

from sqlmodel import Session, select

from app.access import Role
from app.convert import write_household
from app.models import AccountRow, MembershipRow
from app.services_accounts import add_member
from planner.ledger import Count
from tests.app.data_builders import KIT, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import text_of


def test_the_first_heading_is_the_answer(enter: Enter) -> None:
    page = enter("pat").get("/h/home")
    heading = re.search(r"<h1[^>]*>([^<]+)</h1>", page.text)
    assert heading is not None
    assert re.fullmatch(r"Supplies for \d+ days", heading[1])
    said = text_of(page)
    assert said.index(heading[1]) < said.index("They will probably last through")
    assert said.index("They are almost sure (99 in 100)") < said.index("Record a session")
    assert "The next delivery should come on" in said
    assert "11 kits – Kit, half litre" in said


def test_the_picture_is_described_and_repeated_as_a_table(enter: Enter) -> None:
    page = enter("pat").get("/h/home").text
    described = re.search(r"<desc[^>]*>([^<]+)</desc>", page)
    assert described is not None
    assert described[1].startswith("A falling line that starts at 11 kits today.")
    assert "They will probably last through" in described[1]
    picture = page[page.index("<svg") : page.index("</svg>")]
    assert re.search(r">(sure|likely) to \d+ [A-Z][a-z]{2}<", picture)
    assert re.search(r">delivery \d+ [A-Z][a-z]{2}<", picture)
    assert "Chance to have run out" in page


def test_when_supplies_run_short_it_says_whom_to_call(
    enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    count = Count(id="c1", at=datetime(2026, 3, 10, 20, 0), item_code=KIT, units=1)
    write_household(db, make_household(id="short", ledger=(count,), orders=()))
    add_member(db, people["pat"], "short", Role.PATIENT)
    db.commit()
    said = enter("pat").see("/h/short")
    assert "Call Tidewater desk (555 0100) today and ask for express delivery." in said
    assert "Tell your care team that supplies may run short." in said
    assert "Keep to your drain plan." in said
    assert not re.search(
        r"drain (less|more|later)|skip (a|one)|stretch|to save", said, re.IGNORECASE
    )


def test_a_household_that_has_just_begun_has_a_page(
    enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    write_household(db, make_household(id="fresh", ledger=(), sessions=(), orders=()))
    add_member(db, people["pat"], "fresh", Role.PATIENT)
    db.commit()
    visitor = enter("pat")
    assert "Not enough supplies for a session today" in visitor.see("/h/fresh")
    assert "No session is written down yet." in visitor.see("/h/fresh/sessions")
    assert "Nothing has been counted or received yet." in visitor.see("/h/fresh/shelf")
    assert "No order has been written down yet." in visitor.see("/h/fresh/order")


def test_the_page_names_who_orders_the_carers_before_the_patient(enter: Enter, db: Session) -> None:
    assert "Who orders: cara." in text_of(enter("pat").get("/h/home"))
    taken_out = select(MembershipRow).where(MembershipRow.role == Role.CARER.value)
    for row in db.exec(taken_out.where(MembershipRow.household_id == "home")).all():
        db.delete(row)
    db.commit()
    assert "Who orders: pat." in text_of(enter("pat").get("/h/home"))
