"""What if: the difference in words, both plans, nothing saved until asked, bad values."""

from __future__ import annotations

import re

import httpx
import pytest
from sqlmodel import Session, select

from app.access import Role
from app.convert import read_household, write_household
from app.models import AccountRow, HouseholdRow
from app.services_accounts import add_member
from app.wording import STANDING_CAUTION
from planner.household import Household
from planner.ledger import Waste
from tests.app.data_builders import KIT, make_household
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor, faults_of, forms_of, text_of

ASK = "/h/home/what-if"
TRAVEL = {"starts_on": "2026-03-16", "ends_on": "2026-03-23", "spare_days": "1"}


def state(db: Session) -> tuple[int, Household | None]:
    """The household's version and record as they are in the database."""
    db.rollback()
    version = db.exec(select(HouseholdRow.input_version).where(HouseholdRow.id == "home")).one()
    return version, read_household(db, "home")


def test_every_question_has_its_page(cara: Visitor) -> None:
    said = cara.see(ASK)
    for title in ("We travel", "A hospital stay", "Goods are damaged", "The plan changes"):
        assert title in said
    for kind in ("travel", "stay", "supplier", "delivery", "damage", "plan"):
        assert "Show what it means" in cara.see(f"{ASK}/{kind}")
    assert cara.get(f"{ASK}/weather").status_code == 404


@pytest.mark.parametrize(
    ("kind", "values", "says"),
    [
        ("stay", {"starts_on": "2026-03-14", "ends_on": "2026-03-21"}, "7 days more than now."),
        ("stay", {"starts_on": "2026-03-12", "ends_on": ""}, "just as now."),
        ("supplier", {"starts_on": "2026-03-13", "ends_on": "2026-03-20"}, "just as now."),
        ("delivery", {"order": "o1", "business_days": "3"}, "should then come on Tue 17 March"),
        ("damage", {"item": KIT, "units": "4"}, "days less than now."),
        (
            "plan",
            {"starts_on": "2026-03-13", "pattern": "every-n-days", "every_n_days": "1"},
            "days less than now.",
        ),
        (
            "plan",
            {"starts_on": "2026-03-13", "pattern": "rrule", "weekdays.MO": "yes"},
            "days more than now.",
        ),
        ("plan", {"starts_on": "2026-03-13", "pattern": "as-needed"}, "With this, supplies will"),
        ("travel", TRAVEL, "What to pack"),
    ],
)
def test_the_difference_stands_first_and_nothing_is_saved(
    kind: str, values: dict[str, str], says: str, cara: Visitor, db: Session
) -> None:
    before = state(db)
    page = cara.send(f"{ASK}/{kind}", values, "submission")
    said = text_of(page)
    assert page.status_code == 200, faults_of(page)
    assert says in said
    assert said.index("The difference") < said.index("As things are") < said.index("Ask again")
    assert said.count("Supplies for") == 2
    assert "Nothing was saved." in said
    assert STANDING_CAUTION in said
    assert state(db) == before
    for one in values.values():
        assert one in page.text  # what was typed is still there


def test_only_the_prescriber_changes_the_plan_and_the_page_says_so(cara: Visitor) -> None:
    question = cara.see(f"{ASK}/plan")
    values = {"starts_on": "2026-03-13", "pattern": "every-n-days", "every_n_days": "3"}
    answer = text_of(cara.send(f"{ASK}/plan", values, "submission"))
    for said in (question, answer):
        assert "Only your prescriber changes your plan." in said
        assert "does not say what is right for you" in said


def test_goods_taken_along_can_be_chosen(cara: Visitor) -> None:
    page = cara.send(f"{ASK}/travel", TRAVEL | {"take[1].units": "3"}, "submission")
    assert "8 kits to use" not in text_of(page)
    more = cara.send(f"{ASK}/travel", TRAVEL | {"take[1].units": "9"}, "submission")
    assert text_of(page) != text_of(more)


def test_the_packing_list_alone_can_be_printed(cara: Visitor) -> None:
    page = cara.send(f"{ASK}/travel", TRAVEL, "submission")
    form = next(one for one in forms_of(page) if one.action.endswith("/list"))
    alone = cara.post(form.action, form.values)
    said = text_of(alone)
    assert alone.status_code == 200
    assert "Packing list" in said
    assert "For 8 days away, from Mon 16 March through Mon 23 March." in said
    assert "1 day of them is in reserve" in said
    assert "Kit, half litre" in said
    assert "Each kit holds one dressing pack" in said
    assert "Tidewater desk (555 0100)" in said


def test_what_is_missing_for_a_journey_says_whom_to_call(cara: Visitor) -> None:
    long = {"starts_on": "2026-03-16", "ends_on": "2026-05-16", "spare_days": "0"}
    said = text_of(cara.send(f"{ASK}/travel", long, "submission"))
    assert "more of Kit, half litre are needed" in said
    assert "Call Tidewater desk (555 0100) before you leave." in said


def test_running_short_says_whom_to_call_and_to_keep_to_the_plan(cara: Visitor) -> None:
    said = text_of(cara.send(f"{ASK}/damage", {"item": KIT, "units": "10"}, "submission"))
    assert "If it comes to this" in said
    assert "Tidewater desk (555 0100)" in said
    assert "Keep to your drain plan." in said


def test_damaged_goods_are_written_down_once_asked_and_can_be_taken_back(
    cara: Visitor, db: Session
) -> None:
    page = cara.send(f"{ASK}/damage", {"item": KIT, "units": "4", "lot": "L1"}, "submission")
    form = next(one for one in forms_of(page) if one.action.endswith("/save"))
    answer = cara.post(form.action, form.values)
    assert "The loss is written down." in cara.follow(answer)
    record = state(db)[1]
    assert record is not None
    waste = record.ledger[-1]
    assert isinstance(waste, Waste)
    assert (waste.item_code, waste.units, waste.lot) == (KIT, 4, "L1")
    assert cara.post(form.action, form.values).headers["location"] == answer.headers["location"]
    again = state(db)[1]
    assert again is not None
    assert again.ledger == record.ledger
    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    undone = state(db)[1]
    assert undone is not None
    assert waste.id in undone.taken_back_ids


def made_so(visitor: Visitor, kind: str, values: dict[str, str]) -> httpx.Response:
    """Ask, then say that it is so."""
    page = visitor.send(f"{ASK}/{kind}", values, "submission")
    assert "Make this so" in text_of(page)
    form = next(one for one in forms_of(page) if one.action.endswith("/save"))
    return visitor.post(form.action, form.values)


@pytest.mark.parametrize(
    ("kind", "values", "says"),
    [
        ("stay", {"starts_on": "2026-03-14", "ends_on": "2026-03-21"}, "In hospital"),
        ("travel", TRAVEL, "Travelling"),
        ("supplier", {"starts_on": "2026-03-13", "ends_on": "2026-03-20"}, "Supplier: "),
        (
            "plan",
            {
                "starts_on": "2026-03-13",
                "pattern": "every-n-days",
                "every_n_days": "3",
                "ordered_by": "Dr Moss",
            },
            "Dr Moss",
        ),
    ],
)
def test_what_is_so_becomes_a_dated_change_with_the_plan_that_was_shown(
    kind: str, values: dict[str, str], says: str, cara: Visitor, db: Session
) -> None:
    before = state(db)[1]
    # Goods that are only packed later are not part of what is saved.
    values = values | ({f"take[{n}].units": "0" for n in (1, 2)} if kind == "travel" else {})
    shown = text_of(cara.send(f"{ASK}/{kind}", values, "submission"))
    with_this = shown.split("With this")[2]
    headline = re.search(r"Supplies for \d+ days", with_this)
    assert headline is not None
    answer = made_so(cara, kind, values)
    said = cara.follow(answer)
    assert says in said
    assert headline[0] in cara.see("/h/home")
    cara.follow(cara.send(answer.headers["location"], {}, "entry"))
    assert state(db)[1] == before


def test_a_plan_is_not_saved_without_its_prescriber(cara: Visitor, db: Session) -> None:
    before = state(db)
    values = {"starts_on": "2026-03-13", "pattern": "every-n-days", "every_n_days": "3"}
    page = made_so(cara, "plan", values)
    assert page.status_code == 422
    assert faults_of(page) == [
        "Name of the prescriber is empty. Write who changed the plan; only a prescriber does."
    ]
    assert state(db) == before


def test_what_is_only_ever_a_question_cannot_be_saved(cara: Visitor, db: Session) -> None:
    before = state(db)
    form = cara.form(f"{ASK}/delivery", "submission")
    values = form.values | {"order": "o1", "business_days": "2"}
    assert "Make this so" not in text_of(cara.post(f"{ASK}/delivery", values))
    assert cara.post(f"{ASK}/delivery/save", values).status_code == 404
    assert state(db) == before


@pytest.mark.parametrize(
    ("kind", "values", "fault"),
    [
        ("stay", {"starts_on": ""}, "First day is empty. Give a day of the calendar"),
        ("stay", {"starts_on": "soon"}, "First day is soon. Give a day of the calendar"),
        (
            "stay",
            {"starts_on": "2026-03-14", "ends_on": "2026-03-14"},
            "First day at home again is 2026-03-14. It must be after the first day away.",
        ),
        (
            "stay",
            {"starts_on": "2026-03-14", "ends_on": "2026-03-12"},
            "First day at home again is 2026-03-12. It must not be before the start",
        ),
        (
            "stay",
            {"starts_on": "2025-03-14", "ends_on": "2026-03-22"},
            "First day is 2025-03-14. It lies more than 31 days ago",
        ),
        (
            "stay",
            {"starts_on": "2026-03-14", "ends_on": "2027-03-22"},
            "First day at home again is 2027-03-22. It lies more than 180 days ahead",
        ),
        ("supplier", {"ends_on": ""}, "Last day is empty."),
        (
            "supplier",
            {"starts_on": "2026-03-20", "ends_on": "2026-03-19"},
            "Last day is 2026-03-19. It must not be before",
        ),
        (
            "supplier",
            {"starts_on": "2026-03-20", "ends_on": "2026-09-19"},
            "Last day is 2026-09-19. A closure may last 92 days",
        ),
        ("delivery", {"business_days": "0"}, "Working days late is 0. Give 1 to 60 business days."),
        (
            "delivery",
            {"business_days": "some"},
            "Working days late is some. Give a whole number of working days, for example 2.",
        ),
        ("delivery", {"order": "o7"}, "Order is o7. It is not on its way; choose an open order."),
        ("damage", {"units": "x"}, "Number of units is x. Give a whole number of units"),
        ("damage", {"units": "0"}, "Number of units is 0. Give 1 to 10000 units."),
        ("damage", {"units": "99"}, "Number of units is 99. Only 11 are there"),
        ("damage", {"units": "1", "item": "X"}, "Item is X. No such item"),
        ("plan", {"every_n_days": ""}, "Days from one session to the next is empty."),
        ("plan", {"every_n_days": "90"}, "Days from one session to the next is 90. Give 1 to 60"),
        ("plan", {"pattern": "rrule"}, "Weekdays is not ticked. Tick at least one."),
        ("plan", {"pattern": "daily"}, "How often is daily. Choose one of the three."),
        ("plan", {"starts_on": "2026-03-01"}, "First day is 2026-03-01. It lies before today"),
        ("plan", {"session_limit_ml": "9"}, "Limit for one session is 9. Give 50 to 10000 mL."),
        ("plan", {"session_limit_ml": "9000"}, "Limit for one session is 9000. That takes more"),
        ("travel", TRAVEL | {"spare_days": "40"}, "Days in reserve is 40. Give 0 to 14 days."),
        ("travel", TRAVEL | {"starts_on": "2026-03-01"}, "First day is 2026-03-01. It lies before"),
        (
            "travel",
            TRAVEL | {"ends_on": "2150-12-31"},
            "First day at home again is 2150-12-31. It lies more than 180 days ahead",
        ),
        ("stay", {"starts_on": "2150-12-30"}, "First day is 2150-12-30. It lies more than 180"),
        (
            "plan",
            {"starts_on": "2150-12-30", "pattern": "rrule", "weekdays.MO": "yes"},
            "First day is 2150-12-30. It lies more than 180 days ahead",
        ),
        (
            "supplier",
            {"starts_on": "2150-12-30", "ends_on": "2150-12-31"},
            "First day is 2150-12-30. It lies more than 180 days ahead",
        ),
        ("travel", TRAVEL | {"ends_on": ""}, "First day at home again is empty."),
        ("travel", TRAVEL | {"take[1].units": "-3"}, "Units of item 1 is -3. Give 0 to 10000"),
        ("travel", TRAVEL | {"take[1].units": "50"}, "Units of item 1 is 50. Only 11 can be used"),
        ("travel", TRAVEL | {"take[2].units": "two"}, "Units of item 2 is two. Give a whole"),
    ],
)
def test_a_bad_value_is_named_and_what_was_typed_is_kept(
    kind: str, values: dict[str, str], fault: str, cara: Visitor, db: Session
) -> None:
    before = state(db)
    base = {"starts_on": "2026-03-14"} if kind != "travel" else {}
    page = cara.send(f"{ASK}/{kind}", base | values, "submission")
    assert page.status_code == 422
    found = faults_of(page)
    assert any(one.startswith(fault) for one in found), found
    for typed in values.values():
        assert typed in page.text
    assert state(db) == before


def test_a_viewer_may_ask_but_not_save(enter: Enter, db: Session) -> None:
    viewer = enter("vic")
    values = {"item": KIT, "units": "4"}
    page = viewer.send(f"{ASK}/damage", values, "submission")
    assert "days less than now" in text_of(page)
    assert "Make this so" not in text_of(page)
    form = viewer.form(f"{ASK}/damage", "submission")
    assert viewer.post(f"{ASK}/damage/save", form.values | values).status_code == 404


def test_a_stranger_finds_nothing(enter: Enter) -> None:
    stranger = enter("stranger")
    assert stranger.get(ASK).status_code == 404
    assert stranger.get(f"{ASK}/stay").status_code == 404


def test_without_an_open_order_none_can_be_late(
    db: Session, people: dict[str, AccountRow], enter: Enter
) -> None:
    write_household(db, make_household(id="bare", orders=()))
    add_member(db, people["cara"], "bare", Role.CARER)
    assert "none can be late" in enter("cara").see("/h/bare/what-if/delivery")


def test_answers_lead_to_where_the_real_thing_is_written_down(cara: Visitor, enter: Enter) -> None:
    late = {"order": "o1", "business_days": "3"}
    page = cara.send(f"{ASK}/delivery", late, "submission")
    assert 'href="/h/home/orders/o1"' in page.text
    assert cara.get("/h/home/orders/o1").status_code == 200
    journey = cara.send(f"{ASK}/travel", TRAVEL, "submission")
    assert 'href="/h/home/shelf/move?where=bag"' in journey.text
    assert 'value="bag" checked' in cara.get("/h/home/shelf/move?where=bag").text
    viewer = enter("vic")
    assert "/orders/o1" not in viewer.send(f"{ASK}/delivery", late, "submission").text


def test_addresses_carry_no_answers(cara: Visitor) -> None:
    for kind in ("stay", "travel", "plan"):
        page = cara.get(f"{ASK}/{kind}")
        assert all(form.method == "post" for form in forms_of(page))
