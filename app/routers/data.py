"""A household's data as a file: saved, read in, and deleted for good."""

from __future__ import annotations

from fastapi import APIRouter
from starlette.datastructures import FormData, UploadFile
from starlette.responses import RedirectResponse, Response

from app import clock
from app.access import AgencyAccess, HouseholdAccess, Role
from app.deps import CheckedForm, DbSession, Login, ManagedHousehold, SignedIn, ViewedAgency
from app.errors import InvalidInput, NotFound
from app.exporting import household_file
from app.forms import Form, file_sentence, texts
from app.later_settings import read_later
from app.services_deletion import delete_household, what_goes
from app.services_import import import_for_agency, import_into, import_new, is_empty, read_file
from app.views import Places, after, agency_places, household_places, render
from app.views_members import import_choices, read_role

router = APIRouter(include_in_schema=False)

FAULTS_SHOWN = 20
MOST_OF_AN_AGENCY = 200
"""Households that one file may add to an agency."""


@router.get("/h/{household}/data")
def show_data(db: DbSession, login: SignedIn, access: ManagedHousehold) -> Response:
    """Saving a copy, reading one in, and the way to deleting."""
    return _data_page(db, login, access)


@router.get("/h/{household}/data/supplies.toml")
def save_file(db: DbSession, access: ManagedHousehold) -> Response:
    """The household's whole record as one file; its name says nothing about anybody."""
    text = household_file(db, access.household_id)
    if text is None:
        raise NotFound
    name = f"supplies-{clock.today_in(access.time_zone)}.toml"
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return Response(text, media_type="application/toml", headers=headers)


@router.post("/h/{household}/import")
def read_into_household(
    db: DbSession, login: SignedIn, access: ManagedHousehold, form: CheckedForm
) -> Response:
    """Put a file in the place of a household without entries."""
    try:
        content = _content(form)
        (household,) = read_file(content)
        key = import_into(db, access, household, read_later(content))
    except InvalidInput as error:
        return _data_page(db, login, access, error)
    return after(f"/h/{key}", "imported")


@router.get("/h/{household}/delete")
def ask_to_delete(db: DbSession, login: SignedIn, access: ManagedHousehold) -> Response:
    """What goes with a household, before it goes."""
    return _delete_page(db, login, access, Form())


@router.post("/h/{household}/delete")
def do_delete(
    db: DbSession, login: SignedIn, access: ManagedHousehold, form: CheckedForm
) -> Response:
    """Delete a household for good."""
    values = texts(form)
    try:
        delete_household(db, access, values.get("name", ""))
    except InvalidInput as error:
        labels = {"name": "The name"}
        faulty = Form(values=values, problems=error.faults, labels=labels)
        return _delete_page(db, login, access, faulty, status=error.status)
    return render("gone.html", {"what": "The household"}, login=login)


@router.get("/import")
def show_import(login: SignedIn) -> Response:
    """Reading in a household of one's own."""
    return _import_page(login, None)


@router.post("/import")
def read_new(db: DbSession, login: SignedIn, form: CheckedForm) -> Response:
    """Add a household from a file."""
    role = read_role(texts(form).get("role", "")) or Role.PATIENT
    try:
        content = _content(form)
        (household,) = read_file(content)
        allowed = role if role in (Role.PATIENT, Role.CARER) else Role.PATIENT
        key = import_new(db, login.account, household, allowed, read_later(content))
    except InvalidInput as error:
        return _import_page(login, None, error, role)
    return after(f"/h/{key}", "imported")


@router.get("/agency/{agency}/import")
def show_agency_import(login: SignedIn, access: ViewedAgency) -> Response:
    """Reading households in for an agency."""
    return _import_page(login, access)


@router.post("/agency/{agency}/import")
def read_for_agency(
    db: DbSession, login: SignedIn, access: ViewedAgency, form: CheckedForm
) -> Response:
    """Add the households of a file to an agency."""
    try:
        content = _content(form)
        households = read_file(content, most=MOST_OF_AN_AGENCY)
        import_for_agency(db, access, households, read_later(content, len(households)))
    except InvalidInput as error:
        return _import_page(login, access, error)
    return RedirectResponse(f"/agency/{access.agency_id}", status_code=303)


def _content(form: FormData) -> bytes:
    file = form.get("file")
    return file.file.read() if isinstance(file, UploadFile) else b""


def _data_page(
    db: DbSession, login: Login, access: HouseholdAccess, error: InvalidInput | None = None
) -> Response:
    context = {
        "places": household_places(access, "People"),
        "household_id": access.household_id,
        "empty": is_empty(db, access.household_id),
        **_faults(error),
    }
    return render("data.html", context, login=login, status=200 if error is None else error.status)


def _import_page(
    login: Login,
    access: AgencyAccess | None,
    error: InvalidInput | None = None,
    role: Role = Role.PATIENT,
) -> Response:
    places = Places() if access is None else agency_places(access.agency_id, "People")
    context = {
        "places": places,
        "agency": "" if access is None else access.agency_name,
        "action": "/import" if access is None else f"/agency/{access.agency_id}/import",
        "form": Form(values={"role": role.value}),
        "choices": import_choices(),
        **_faults(error),
    }
    status = 200 if error is None else error.status
    return render("import.html", context, login=login, status=status)


def _delete_page(
    db: DbSession, login: Login, access: HouseholdAccess, form: Form, *, status: int = 200
) -> Response:
    context = {
        "places": household_places(access, "People"),
        "household_id": access.household_id,
        "name": access.household_name,
        "goes": what_goes(db, access),
        "form": form,
    }
    return render("household_delete.html", context, login=login, status=status)


def _faults(error: InvalidInput | None) -> dict[str, object]:
    """As many faults of a file as a person can take in at once, and how many more there are."""
    faults = () if error is None else error.faults
    shown = [file_sentence(fault) for fault in faults[:FAULTS_SHOWN]]
    return {"faults": shown, "more": len(faults) - len(shown)}
