"""Pages: the template environment, and what every page shows."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from functools import cache

from fastapi import Request
from jinja2 import Environment, FileSystemLoader, StrictUndefined, select_autoescape
from markupsafe import Markup
from starlette.responses import HTMLResponse, RedirectResponse, Response

from app import display, security
from app.access import HouseholdAccess, Permission
from app.deps import Login
from app.settings import TEMPLATES
from app.stylesheet import STYLES
from app.template_texts import translate
from app.texts import TEXTS, tr
from app.wording import caution, day_text, urgency_name, urgency_text
from planner.results import Urgency

SHAPES = {
    Urgency.SHORT: "▲",
    Urgency.ORDER_NOW: "◆",
    Urgency.ORDER_SOON: "◇",
    Urgency.STEADY: "●",
    Urgency.RESTING: "○",
}

DASH = "\N{EN DASH}"

_DONE = {
    "session": "Your session is written down.",
    "undone": "That entry was taken back.",
    "already": "That entry was taken back before.",
    "count": "Your count is written down.",
    "waste": "The loss is written down.",
    "delivery": "The delivery is on your shelf now.",
    "ordered": "Your yes is written down. Now place the order with your supplier.",
    "placed": "Your order is written down as placed.",
    "declined": "Your answer is written down. Nothing was ordered.",
    "step": "The step is written down.",
    "step-undone": "The last step was taken back.",
    "delivery-recalled": (
        "The delivery is written down. A lot in it is recalled: do not use it. Call your supplier."
    ),
    "moved": "That is written down.",
    "recall": "The lot is marked as recalled. Do not use it. Call your supplier.",
    "wrong-gone": "The wrong goods are off the list.",
    "recalled-for-all": "The lot is marked as recalled in all these households.",
    "recall-undone": "The recall was taken back in all these households.",
    "wrong-kept": "The goods are on your shelf now.",
    "cancelled": "The order is marked as cancelled. Tell your supplier, too.",
    "revoked": "The old address does not work any more.",
    "reminders": "Your choices are saved.",
    "started": "Your first plan is ready.",
    "setting": "Your change is saved.",
    "stays": "That change cannot be taken back. It was before, or later entries need it.",
    "unchanged": "Nothing was changed: it was so already.",
    "role": "The role is changed.",
    "removed": "That person is taken out. Nothing they wrote is lost.",
    "taken-back": "The invite does not work any more.",
    "joined": "Welcome. You are in now.",
    "name": "Your name is changed.",
    "password": "Your password is changed. Other devices are signed out.",
    "device": "That device is signed out.",
    "imported": "The file is read in. Look it over: count the shelf if you are not sure.",
    "shows": "Saved. Your calendar follows when it next looks for changes.",
}
_KEY = re.compile(r"[A-Za-z0-9.:_-]{1,64}")


class _Loader(FileSystemLoader):
    """Templates, their plain texts in one language."""

    def __init__(self, language: str) -> None:
        super().__init__(TEMPLATES)
        self._texts = TEXTS.get(language)

    def get_source(
        self, environment: Environment, template: str
    ) -> tuple[str, str, Callable[[], bool]]:
        """The template as it is to be compiled."""
        source, path, is_fresh = super().get_source(environment, template)
        texts = self._texts
        if texts is not None:
            source = translate(source, lambda key: texts.get(key, key))
        return source, path, is_fresh


@cache
def _environment(language: str) -> Environment:
    made = Environment(
        loader=_Loader(language),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        auto_reload=False,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    made.globals |= {"styles": Markup(STYLES), "tr": tr}  # noqa: S704  (our own sheet)
    return made


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """A page in the row of pages at the top."""

    name: str
    href: str
    here: bool = False


class Places(tuple[Place, ...]):  # noqa: SLOT001  (a tuple cannot have slots with values)
    """The pages in the row at the top.

    Attributes:
        whose: name of the household they belong to; empty where the person has no other.
        n_in_row: how many are always in sight; the rest is folded.
    """

    whose: str = ""
    n_in_row: int | None = None

    @property
    def row(self) -> tuple[Place, ...]:
        """Those that are always in sight."""
        return self[: self.n_in_row]

    @property
    def folded(self) -> tuple[Place, ...]:
        """The others."""
        return self[len(self.row) :]

    @classmethod
    def of(cls, root: str, pages: Iterable[tuple[str, str]], here: str, whose: str = "") -> Places:
        """Pages by name and by what their addresses add to `root`."""
        made = cls(Place(name=name, href=root + path, here=name == here) for name, path in pages)
        made.whose = whose
        return made


@dataclass(frozen=True, slots=True, kw_only=True)
class Sign:
    """An urgency as shown: word and shape, never colour alone."""

    code: str
    name: str
    sentence: str
    shape: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What has just been done, with a way to take it back at `undo_path` of the household.

    `undo_page` names the page that taking it back leads to.
    """

    text: str
    more: tuple[str, ...] = ()
    undo_id: str = ""
    undo_path: str = "/undo"
    undo_page: str = ""


def sign_of(urgency: Urgency) -> Sign:
    """An urgency as shown."""
    return Sign(
        code=urgency.value,
        name=urgency_name(urgency),
        sentence=urgency_text(urgency),
        shape=SHAPES[urgency],
    )


def household_places(access: HouseholdAccess, here: str) -> Places:
    """The pages of one household that this role may use."""
    root = f"/h/{access.household_id}"
    pages = [("Overview", ""), ("Shelf", "/shelf"), ("Order", "/order"), ("Sessions", "/sessions")]
    pages += [("What if", "/what-if"), ("Paper", "/paper")]
    if access.may(Permission.RECORD):
        pages.insert(1, ("Record", "/sessions/new"))
    pages += [("Calendar", "/calendar"), ("People", "/people"), ("Settings", "/settings")]
    whose = access.household_name if access.one_of_several else ""
    places = Places.of(root, pages, here, whose)
    places.n_in_row = pages.index(("Sessions", "/sessions"))
    return places


def agency_places(agency_id: str, here: str) -> Places:
    """The pages of an agency."""
    pages = [
        ("Households", ""),
        ("Combined order", "/order"),
        ("Recalls", "/recalls"),
        ("Calendar", "/calendar"),
        ("People", "/people"),
    ]
    return Places.of(f"/agency/{agency_id}", pages, here)


def render(
    template: str,
    context: Mapping[str, object],
    *,
    login: Login | None,
    status: int = 200,
) -> HTMLResponse:
    """A page. The context adds to what every page has: login, places, told, submission."""
    everywhere = {
        "login": login,
        "places": Places(),
        "told": None,
        "household_id": "",
        "submission": security.new_key(),
        "caution": caution(),
        "language": display.current().language,
    }
    text = (
        _environment(display.current().language)
        .get_template(template)
        .render(everywhere | dict(context))
    )
    return HTMLResponse(text, status_code=status)


def render_part(template: str, context: Mapping[str, object]) -> Markup:
    """A part of a page, to be put into several pages or to be kept."""
    made = _environment(display.current().language).get_template(template)
    return Markup(made.render(context))  # noqa: S704  (our own template, which escapes)


def error_page(_request: Request, *, status: int, title: str, message: str) -> Response:
    """Any error as a page in plain words."""
    context = {"title": tr(title), "message": tr(message)}
    return render("error.html", context, login=None, status=status)


def short_day(day: date | None, today: date) -> str:
    """A day for a table cell; a dash when there is none."""
    return DASH if day is None else day_text(day, today=today)


def told_of(
    done: str, entry: str = "", more: tuple[str, ...] = (), *, page: str = ""
) -> Told | None:
    """What the page before has done; the address carries codes only, nothing personal.

    Args:
        done: what was done, as a code.
        entry: what can be taken back, if anything.
        more: further sentences.
        page: name of the page that taking it back leads to; the overview by default.
    """
    text = _DONE.get(done)
    if text is None:
        return None
    may_undo = done not in ("undone", "already") and _KEY.fullmatch(entry)
    return Told(text=tr(text), more=more, undo_id=entry if may_undo else "", undo_page=page)


def after(path: str, done: str, entry: str = "", *, before: str = "") -> Response:
    """Lead to a page that says what was done; `before` is a count that the page explains."""
    tail = f"&entry={entry}" if entry else ""
    tail += f"&before={before}" if before else ""
    return RedirectResponse(f"{path}?done={done}{tail}", status_code=303)
