"""Choosing reminders, the link that stops them, and the file of the day to order by."""

from __future__ import annotations

from email.message import EmailMessage

import pytest
from fastapi.testclient import TestClient
from sqlmodel import Session, select

from app.access import enter_household
from app.mail import Outcome
from app.models import AccountRow
from app.models_reminders import ReminderChoiceRow
from app.services import count_item
from app.services_reminders import Post, remind
from app.wording import STANDING_CAUTION
from app.writing import Request
from tests.app.data_builders import KIT, NOW, UTC_NOW
from tests.app.feed_builders import ABOUT_HEALTH, events_of
from tests.app.pages.conftest import Enter
from tests.app.pages.test_pages_everywhere import check
from tests.app.pages.visitor import Visitor, faults_of, text_of
from tests.app.reminder_builders import Sink

PLACES = [("cara", "/h/home"), ("pat", "/h/home"), ("vic", "/h/home"), ("cody", "/agency/ours")]
GOOD = {"quiet_from": "22:00", "quiet_until": "07:30", "time_zone": "Asia/Tokyo"}


@pytest.mark.parametrize(("who", "root"), PLACES)
def test_the_calendar_page_leads_to_the_choices_and_nothing_is_ticked(
    who: str, root: str, enter: Enter
) -> None:
    visitor = enter(who)
    calendar = visitor.get(f"{root}/calendar")
    assert f'href="{root}/reminders"' in calendar.text
    assert "look for changes only once or twice a day" in text_of(calendar)
    page = visitor.get(f"{root}/reminders")
    assert page.status_code == 200
    assert STANDING_CAUTION in page.text
    check(page.text)
    form = visitor.form(f"{root}/reminders", "quiet_from")
    kinds = {"order-by", "risk", "delivery-late", "digest"}
    assert not kinds & form.values.keys()
    assert form.values["detailed"] == "no"
    assert (form.values["quiet_from"], form.values["quiet_until"]) == ("21:00", "08:00")
    assert f"{who}@test.example" in page.text


@pytest.mark.parametrize(
    ("who", "root", "kind"),
    [
        ("cara", "/h/home", "risk"),
        ("vic", "/h/home", "order-by"),
        ("cody", "/agency/ours", "digest"),
    ],
)
def test_choices_are_kept(who: str, root: str, kind: str, enter: Enter) -> None:
    visitor = enter(who)
    path = f"{root}/reminders"
    changes = {**GOOD, kind: "yes", "detailed": "yes"}
    said = visitor.follow(visitor.send(path, changes, "quiet_from"))
    assert "Your choices are saved." in said
    kept = visitor.form(path, "quiet_from").values
    assert {name: kept.get(name) for name in changes} == changes
    form = visitor.form(path, "quiet_from")
    del form.values[kind]
    visitor.post(path, form.values)
    assert kind not in visitor.form(path, "quiet_from").values


BAD = {
    "no time": ("quiet_from", "late", "Quiet from is late. Give a time of day such as 21:00."),
    "empty": ("quiet_until", "", "Quiet until is empty. Give a time of day such as 21:00."),
    "no zone": (
        "time_zone",
        "Moon/Base",
        "Your time zone is Moon/Base. Write a name such as Europe/Lisbon.",
    ),
}


@pytest.mark.parametrize("what", list(BAD))
def test_a_bad_value_is_named_and_nothing_is_saved(what: str, cara: Visitor, db: Session) -> None:
    field, value, sentence = BAD[what]
    page = cara.send("/h/home/reminders", {"risk": "yes", field: value}, "quiet_from")
    assert page.status_code == 422
    assert faults_of(page) == [sentence]
    check(page.text)
    assert 'name="risk" value="yes" checked' in page.text
    assert db.exec(select(ReminderChoiceRow)).all() == []


@pytest.mark.parametrize("who", ["stranger", "rival"])
def test_others_find_no_choices(who: str, enter: Enter) -> None:
    visitor = enter(who)
    for path in ("/h/home/reminders", "/agency/ours/reminders", "/h/home/order/day.ics"):
        assert visitor.get(path).status_code == 404
    token = visitor.form("/when-to-call", "form_token").values["form_token"]
    for path in ("/h/home/reminders", "/agency/ours/reminders"):
        assert visitor.post(path, {**GOOD, "form_token": token}).status_code == 404


def test_a_forged_form_changes_nothing(cara: Visitor, db: Session) -> None:
    answer = cara.post("/h/home/reminders", {**GOOD, "risk": "yes", "form_token": "guess"})
    assert answer.status_code == 403
    assert db.exec(select(ReminderChoiceRow)).all() == []


def stop_path(db: Session, visitor: Visitor, account: AccountRow) -> str:
    """The path of the link in a message to the carer."""
    visitor.send(
        "/h/home/reminders",
        {"risk": "yes", "quiet_from": "00:00", "quiet_until": "00:00"},
        "quiet_from",
    )
    ask = Request(db=db, access=enter_household(db, account, "home"), now=NOW)
    count_item(ask, item_code=KIT, units=1, at=NOW)
    sink = Sink()
    post = Post(mailer=sink, sender="supplies@clinic.example", base_url="https://ebb.example")
    assert remind(db, post, UTC_NOW) == {Outcome.SENT: 1}
    (message,) = sink.taken
    assert isinstance(message, EmailMessage)
    link = str(message["List-Unsubscribe"])
    return link.removeprefix("<https://ebb.example").removesuffix(">")


def test_the_link_asks_first_and_works_without_signing_in(
    cara: Visitor, client: TestClient, db: Session, people: dict[str, AccountRow]
) -> None:
    path = stop_path(db, cara, people["cara"])
    client.cookies.clear()
    page = client.get(path)
    assert page.status_code == 200
    assert "Stop these messages?" in page.text
    assert STANDING_CAUTION in page.text
    assert "cara" not in page.text
    check(page.text)
    assert db.exec(select(ReminderChoiceRow.risk)).one()
    db.commit()
    origin = {"Origin": "http://testserver", "Sec-Fetch-Site": "same-origin"}
    done = client.post(path, headers=origin)
    assert "You will get no more of these messages." in text_of(done)
    assert not db.exec(select(ReminderChoiceRow.risk)).one()
    assert "set-cookie" not in done.headers


def test_a_mail_program_stops_messages_with_one_click(
    cara: Visitor, client: TestClient, db: Session, people: dict[str, AccountRow]
) -> None:
    """RFC 8058 section 3.2: the body in either of the two form types, no cookie, no redirect."""
    path = stop_path(db, cara, people["cara"])
    client.cookies.clear()
    sent = client.post(path, data={"List-Unsubscribe": "One-Click"})
    assert sent.status_code == 200
    again = client.post(path, files={"List-Unsubscribe": (None, "One-Click")})
    assert again.status_code == 200
    choice = db.exec(select(ReminderChoiceRow)).one()
    assert not choice.risk


def test_a_wrong_link_stops_nothing(
    cara: Visitor, client: TestClient, db: Session, people: dict[str, AccountRow]
) -> None:
    stop_path(db, cara, people["cara"])
    assert client.get("/reminders/stop/guess").status_code == 404
    assert client.post("/reminders/stop/guess").status_code == 404
    assert db.exec(select(ReminderChoiceRow)).one().risk


def test_another_site_cannot_stop_messages(
    cara: Visitor, client: TestClient, db: Session, people: dict[str, AccountRow]
) -> None:
    path = stop_path(db, cara, people["cara"])
    assert client.post(path, headers={"Origin": "https://evil.example"}).status_code == 403
    assert db.exec(select(ReminderChoiceRow)).one().risk


def test_the_secret_of_a_link_never_gets_into_the_log(
    cara: Visitor,
    client: TestClient,
    db: Session,
    people: dict[str, AccountRow],
    caplog: pytest.LogCaptureFixture,
) -> None:
    path = stop_path(db, cara, people["cara"])
    caplog.set_level("DEBUG", "ebbstock")
    client.get(path)
    client.post(path)
    lines = [one.getMessage() for one in caplog.records if one.name.startswith("ebbstock")]
    assert len([line for line in lines if "/reminders/stop/{secret}" in line]) == 2
    assert path.rsplit("/", 1)[1] not in " ".join(lines)


def test_the_order_page_gives_its_day_as_a_file(cara: Visitor) -> None:
    page = cara.get("/h/home/order")
    assert 'href="/h/home/order/day.ics"' in page.text
    file = cara.get("/h/home/order/day.ics")
    assert file.headers["content-type"] == "text/calendar; charset=utf-8"
    assert file.headers["content-disposition"] == 'attachment; filename="order-supplies.ics"'
    assert file.headers["cache-control"] == "no-store"
    assert b"\r\nMETHOD" not in file.content
    (event,) = events_of(file.content)
    assert str(event["SUMMARY"]) == "Order supplies by today"
    assert not ABOUT_HEALTH.search(f"{event['SUMMARY']} {event['DESCRIPTION']}")
    assert event["DTSTART"].dt > NOW.date()
    assert event["SEQUENCE"] == 1


def test_a_later_file_replaces_the_earlier_entry(
    cara: Visitor, db: Session, people: dict[str, AccountRow], enter: Enter
) -> None:
    (first,) = events_of(cara.get("/h/home/order/day.ics").content)
    ask = Request(db=db, access=enter_household(db, people["cara"], "home"), now=NOW)
    count_item(ask, item_code=KIT, units=9, at=NOW)
    (second,) = events_of(cara.get("/h/home/order/day.ics").content)
    assert second["UID"] == first["UID"]
    assert second["SEQUENCE"] > first["SEQUENCE"]
    assert second["DTSTART"].dt < first["DTSTART"].dt
    (other,) = events_of(enter("pat").get("/h/home/order/day.ics").content)
    assert other["UID"] != first["UID"]


def test_without_a_day_to_order_by_there_is_no_file(
    cara: Visitor, db: Session, people: dict[str, AccountRow]
) -> None:
    ask = Request(db=db, access=enter_household(db, people["cara"], "home"), now=NOW)
    count_item(ask, item_code=KIT, units=200, at=NOW)
    assert "day.ics" not in cara.get("/h/home/order").text
    page = cara.get("/h/home/order/day.ics")
    assert page.status_code == 404
    assert "There is no day to order by at present." in text_of(page)
