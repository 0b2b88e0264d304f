"""Goods that came by mistake: they leave, in whole or in part, or stay after all."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from fastapi import APIRouter
from starlette.responses import Response

from app import queries
from app.access import HouseholdAccess
from app.deps import CheckedForm, DbSession, Login, Now, RecordedHousehold, SignedIn
from app.errors import InvalidInput
from app.forms import Form, FormReader, texts
from app.services import KeptEntry, Saved, keep_wrong, send_wrong_back
from app.views import after, household_places, render
from app.views_shelf import WrongLine, item_choices, wrong_lines
from app.views_shelf_forms import LABELS, WRONG_CHOICES
from app.writing import Request

router = APIRouter(include_in_schema=False)


@router.get("/h/{household}/shelf/wrong")
def show_wrong(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, entry: str = ""
) -> Response:
    """The form for goods that came by mistake, when not all of them leave together."""
    lines = wrong_lines(queries.household_record(db, access), now.date())
    chosen = next((one for one in lines if one.key == entry), next(iter(lines), None))
    values = {}
    if chosen is not None:
        values = {"entry": chosen.key, "units": str(chosen.units), "lot": chosen.lot}
    return _page(db, login, access, lines, Form(values=values))


@router.post("/h/{household}/shelf/wrong")
def do_wrong(
    db: DbSession, login: SignedIn, access: RecordedHousehold, now: Now, form: CheckedForm
) -> Response:
    """Write down that goods which came by mistake have left, or that they stay.

    The list of the shelf asks nothing more: there all of them have left.
    """
    values = texts(form)
    page = f"/h/{access.household_id}/shelf"
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    asked = "units" in values
    try:
        saved = _save(request, FormReader(values)) if asked else _all_left(request, values)
    except InvalidInput as error:
        if not asked or any(fault.field == "delivery" for fault in error.faults):
            return after(page, "wrong-gone")
        lines = wrong_lines(queries.household_record(db, access), now.date())
        shown = Form(values=values, problems=error.faults, labels=LABELS)
        return _page(db, login, access, lines, shown, status=error.status)
    stays = values.get("goes") == "stays"
    return after(page, "wrong-kept" if stays else "wrong-gone", saved.key)


def _all_left(request: Request, values: dict[str, str]) -> Saved:
    return send_wrong_back(request, values.get("entry", ""))


def _save(request: Request, reader: FormReader) -> Saved:
    delivery_id, goes = reader.text("entry"), reader.text("goes")
    units = reader.whole("units", unit="units", default=1)
    expires_on = reader.optional_day("expires_on") if goes == "stays" else None
    if goes not in dict(WRONG_CHOICES):
        reader.fault("goes", "choose what happens with the goods")
    reader.refuse()
    if goes == "left":
        return send_wrong_back(request, delivery_id, units)
    kept = KeptEntry(
        delivery_id=delivery_id,
        item_code=reader.text("item"),
        units=units,
        lot=reader.text("lot"),
        expires_on=expires_on,
    )
    return keep_wrong(request, kept)


def _page(
    db: DbSession,
    login: Login,
    access: HouseholdAccess,
    lines: tuple[WrongLine, ...],
    form: Form,
    *,
    status: int = 200,
) -> Response:
    context = {
        "places": household_places(access, "Shelf"),
        "household_id": access.household_id,
        "form": form,
        "goods": [(one.key, one.text) for one in lines],
        "ways": WRONG_CHOICES,
        "items": item_choices(queries.household_record(db, access)),
    }
    return render("wrong.html", context, login=login, status=status)
