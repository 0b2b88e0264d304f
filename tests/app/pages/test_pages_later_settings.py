"""A file with settings for later days, saved and read in on the pages."""

from __future__ import annotations

from sqlmodel import Session

from app.access import enter_household
from app.changes import Subject
from app.models import AccountRow
from app.services_settings import set_fields
from app.writing import Request
from tests.app.data_builders import NOW
from tests.app.pages.conftest import Enter
from tests.app.test_later_settings import LATER


def test_a_household_is_read_in_with_what_is_set_for_later(
    enter: Enter, db: Session, people: dict[str, AccountRow]
) -> None:
    ask = Request(db=db, access=enter_household(db, people["cara"], "home"), now=NOW)
    set_fields(ask, Subject.SUPPLIER, {"lead_business_days": 9}, starts_on=LATER)
    file = enter("cara").get("/h/home/data/supplies.toml").content
    stranger = enter("stranger")
    token = stranger.form("/import", "form_token").values["form_token"]
    answer = stranger.client.post(
        "/import", data={"form_token": token, "role": "carer"}, files={"file": ("a.toml", file)}
    )
    page = stranger.follow(answer)
    assert "The file is read in." in page
    settings = stranger.see(answer.headers["location"].partition("?")[0] + "/settings")
    assert "From Wed 1 April: Supplier: working days to delivery 9" in settings
    spoilt = file.replace(b"[[later_settings]]", b"[[later_settings]]\nwrong = 1").replace(
        b'subject = "supplier"', b'subject = "weather"'
    )
    answer = stranger.client.post(
        "/import", data={"form_token": token, "role": "carer"}, files={"file": ("a.toml", spoilt)}
    )
    assert answer.status_code == 422
    assert "later_settings[1] is not usable: write it as it was saved" in answer.text
