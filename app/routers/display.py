"""How a person wants to see days, volumes and words: one page for each account."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from fastapi import APIRouter
from starlette.responses import Response

from app import clock, display, wording
from app.deps import CheckedForm, DbSession, Login, SignedIn
from app.display import DateStyle, Display, VolumeUnit
from app.errors import InvalidInput
from app.forms import Form, FormReader, texts
from app.messages import CATALOGUE, message
from app.services_display import choose_display, display_of
from app.views import after, render, told_of

router = APIRouter(include_in_schema=False)

_LABELS = {"date_style": "Days", "volume_unit": "Volumes", "language": "Language"}


@router.get("/display")
def show(login: SignedIn, db: DbSession, done: str = "") -> Response:
    """What the account chose."""
    chosen = display_of(db, login.account.id or 0)
    values = {
        "date_style": chosen.date_style.value,
        "volume_unit": chosen.volume_unit.value,
        "language": chosen.language,
    }
    return _page(login, Form(values=values, labels=_LABELS), done=done)


@router.post("/display")
def choose(login: SignedIn, db: DbSession, form: CheckedForm) -> Response:
    """Keep what the account chooses."""
    values = texts(form)
    try:
        chosen = _read(values)
    except InvalidInput as error:
        shown = Form(values=values, problems=error.faults, labels=_LABELS)
        return _page(login, shown, status=error.status)
    choose_display(db, login.account.id or 0, chosen)
    return after("/display", "setting")


def _read(values: dict[str, str]) -> Display:
    reader = FormReader(values)
    style, unit = reader.text("date_style"), reader.text("volume_unit")
    language = reader.text("language")
    for name, value, known in (
        ("date_style", style, set(DateStyle)),
        ("volume_unit", unit, set(VolumeUnit)),
        ("language", language, set(CATALOGUE)),
    ):
        if value not in known:
            reader.fault(name, "choose one of those on the page")
    reader.refuse()
    return Display(date_style=DateStyle(style), volume_unit=VolumeUnit(unit), language=language)


def _page(login: Login, form: Form, *, done: str = "", status: int = 200) -> Response:
    context = {
        "told": told_of(done),
        "form": form,
        "date_styles": _date_styles(clock.utc_now().date()),
        "volume_units": [(one.value, message(f"unit-{one.value}")) for one in VolumeUnit],
        "languages": [(one, message("language-name", language=one)) for one in CATALOGUE],
    }
    return render("display.html", context, login=login, status=status)


def _date_styles(today: date) -> list[tuple[str, str]]:
    """Each way to write a day, shown by today."""
    seen = display.current()
    choices = []
    for style in DateStyle:
        display.show_as(replace(seen, date_style=style))
        choices.append((style.value, wording.day_text(today)))
    display.show_as(seen)
    return choices
