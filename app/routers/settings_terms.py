"""Forms of settings that are all alike: what is asked differs, the page does not."""

# The path's `{household}` is read by the access dependency.

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from fastapi import APIRouter
from starlette.responses import Response

from app import setting_forms_goods as goods
from app import setting_forms_home as home
from app import setting_forms_supplier as supplier
from app import wording_settings as words
from app.access import HouseholdAccess
from app.changes import Parts, Subject
from app.convert import read_parts
from app.deps import CheckedForm, DbSession, Login, Now, RecordedHousehold, SignedIn
from app.errors import InvalidInput, NotFound
from app.forms import Form, FormReader, texts
from app.services_settings import remove
from app.setting_fields import Field, grouped, labels_of, open_folds
from app.settings_forms import flat
from app.views import household_places, render
from app.views_settings import after_change
from app.writing import Request, Saved

router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """One form.

    Attributes:
        title: heading.
        intro: what the form is for.
        may_remove: what can be taken out again, for things that are added.
    """

    title: str
    intro: str
    fields: Callable[[Parts, str], tuple[Field, ...]]
    values: Callable[[Parts, str], dict[str, str]]
    save: Callable[[Request, FormReader, Parts, str], Saved]
    may_remove: Subject | None = None


FORMS = {
    "supplier": Asked(
        title="Supplier",
        intro="How they take orders and deliver. The plan uses it to say by when to order.",
        fields=supplier.supplier_fields,
        values=supplier.supplier_values,
        save=supplier.save_supplier,
    ),
    "closed": Asked(
        title="Days on which the supplier is closed",
        intro="Public holidays are known already. Add other days here.",
        fields=supplier.closure_fields,
        values=supplier.closure_values,
        save=supplier.save_closure,
        may_remove=Subject.CLOSURE,
    ),
    "item": Asked(
        title="Item",
        intro="A bottle of another size is a new item. Add it, then choose it for the sessions.",
        fields=goods.item_fields,
        values=goods.item_values,
        save=goods.save_item,
    ),
    "goods": Asked(
        title="What a session uses",
        intro="Kits of another size count in the plan if you tick them here.",
        fields=goods.goods_fields,
        values=goods.goods_values,
        save=goods.save_goods,
    ),
    "allowed": Asked(
        title="Amount allowed",
        intro="If your payer or prescriber sets a limit, orders stay within it.",
        fields=goods.allowed_fields,
        values=goods.allowed_values,
        save=goods.save_allowed,
        may_remove=Subject.AUTHORIZED,
    ),
    "tube": Asked(
        title="The tube",
        intro="Write down what your care team told you. It changes the forecast, nothing else.",
        fields=home.catheter_fields,
        values=home.catheter_values,
        save=home.save_catheter,
    ),
    "care-team": Asked(
        title="Care team",
        intro="The plan names them when you should talk to somebody.",
        fields=home.team_fields,
        values=home.team_values,
        save=home.save_team,
    ),
    "plan": Asked(
        title="How safe the plan is",
        intro="More safety means more boxes at home. If you are not sure, leave it.",
        fields=home.plan_fields,
        values=home.plan_values,
        save=home.save_plan,
    ),
    "household": Asked(
        title="Name and clock",
        intro="What was written down stays at the time at which it was written.",
        fields=home.household_fields,
        values=home.household_values,
        save=home.save_household,
    ),
}
_STANDS_FOR = {"rrule": "standing_rrule", "delivery_weekdays": "weekdays", "item": "item_code"}


@router.get("/h/{household}/settings/{setting}")
def show_form(
    db: DbSession,
    login: SignedIn,
    access: RecordedHousehold,
    now: Now,
    setting: str,
    which: str = "",
) -> Response:
    """A form with what holds today."""
    asked = _asked(setting)
    parts = read_parts(db, access.household_id, now.date())
    values = {"starts_on": now.date().isoformat()} | asked.values(parts, which)
    shown = Form(values=values | {"which": which})
    return _page(login, access, setting, parts, shown)


@router.post("/h/{household}/settings/{setting}")
def do_form(
    db: DbSession,
    login: SignedIn,
    access: RecordedHousehold,
    now: Now,
    setting: str,
    form: CheckedForm,
) -> Response:
    """Keep what was set, as a change of its own."""
    asked, values = _asked(setting), texts(form)
    which = values.get("which", "")
    parts = read_parts(db, access.household_id, now.date())
    request = Request(db=db, access=access, now=now, submission=values.get("submission"))
    try:
        if asked.may_remove is not None and values.get("do") == "remove":
            return after_change(access, remove(request, asked.may_remove, which))
        saved = asked.save(request, FormReader(values), parts, which)
    except InvalidInput as error:
        shown = Form(
            values=values,
            problems=flat(error.faults),
            labels=labels_of(asked.fields(parts, which), _STANDS_FOR),
            stands_for=_STANDS_FOR,
        )
        return _page(login, access, setting, parts, shown, status=error.status)
    return after_change(access, saved)


def _asked(setting: str) -> Asked:
    if setting not in FORMS:
        raise NotFound
    return FORMS[setting]


def _page(
    login: Login,
    access: HouseholdAccess,
    name: str,
    parts: Parts,
    form: Form,
    *,
    status: int = 200,
) -> Response:
    asked, which = FORMS[name], form.value("which")
    fields = asked.fields(parts, which)
    context = {
        "places": household_places(access, "Settings"),
        "household_id": access.household_id,
        "form": form,
        "name": name,
        "asked": asked,
        "groups": grouped(fields),
        "open": open_folds(fields, form),
        "may_remove": asked.may_remove is not None and bool(which),
        "weekdays": [(n, words.weekday_text(n)) for n in range(7)],
    }
    return render("settings_form.html", context, login=login, status=status)
