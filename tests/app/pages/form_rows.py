"""Every form of the application, and what its fields may hold.

Whatever is not listed here is held to the strictest rule: an empty field, a word for a number, a
day that does not exist and a choice that is not offered are all refused.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

PASSWORD = "the password of cara"
SECRET = "a-secret-of-an-invite"
RESET = "a-secret-for-a-new-password"

EMPTY = ""
LONG = "x" * 3000
NOT_OFFERED = "no-such-choice"
LONG_AGO = "0001-01-01"
TOO_FAR = "9999-12-31"
NEGATIVE = "-3"

OPTIONAL = (EMPTY,)
ANY_TEXT = (EMPTY, LONG)
ANY_NUMBER = (EMPTY, "lots", NEGATIVE, "4.5", "99999999999")
ANY_DAY = (EMPTY, "2026-02-30", LONG_AGO, TOO_FAR)
NEUTRAL_UNLESS_YES = (EMPTY, NOT_OFFERED)
"""For words of calendars and messages: whatever is not a clear yes means neutral ones."""

Taken = Mapping[str, tuple[str, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """A form.

    Attributes:
        route: where it is sent, as the program writes it.
        path: the same, filled in.
        page: where it is shown; `path` unless it says otherwise.
        fill: what makes the untouched form complete, so that one bad value is the only one.
        takes: by field, bad-looking values that are fine there.
        refused: further values that are not, each with the field that is named.
        passed_over: fields that a browser cannot send wrongly and that are not looked at.
        named: by field, the one that is named instead; where a page has several such forms.
        status: of the answer that tells of a bad value.
    """

    route: str
    path: str
    page: str = ""
    who: str = "cara"
    fill: Mapping[str, str] = field(default_factory=dict)
    takes: Taken = field(default_factory=dict)
    refused: tuple[tuple[Mapping[str, str], str], ...] = ()
    passed_over: tuple[str, ...] = ()
    named: Mapping[str, str] = field(default_factory=dict)
    status: int = 422


def setting(name: str, **changes: object) -> Row:
    """One of the settings' forms that are all alike."""
    path = f"/h/home/settings/{name}"
    return Row(route="/h/{household}/settings/{setting}", path=path, **changes)  # type: ignore[arg-type]


def question(kind: str, **changes: object) -> Row:
    """One of the questions."""
    path = f"/h/home/what-if/{kind}"
    return Row(route="/h/{household}/what-if/{question}", path=path, **changes)  # type: ignore[arg-type]


BOTTLE = "bottles[1].volume_ml"
DAYS_AWAY = {"starts_on": "2026-03-16", "ends_on": "2026-03-23"}
NO_WEEKDAY = ({"pattern": "weekdays"}, "weekdays")

RECORDING = (
    Row(
        route="/h/{household}/sessions/new",
        path="/h/home/sessions/new",
        fill={BOTTLE: "300"},
        takes={"bottles[].volume_ml": OPTIONAL, "stop_reason": OPTIONAL},
        refused=(
            ({BOTTLE: ""}, BOTTLE),
            ({BOTTLE: "lots"}, BOTTLE),
            ({"time": "23:59"}, "day"),
            ({"bottles[2].volume_ml": "501"}, "bottles[2].volume_ml"),
        ),
    ),
    Row(route="/h/{household}/shelf/count", path="/h/home/shelf/count", fill={"units": "12"}),
    Row(
        route="/h/{household}/shelf/receive",
        path="/h/home/shelf/receive",
        fill={
            "lines[1].units": "10",
            "lines[1].lot": "A",
            "lines[2].units": "5",
            "lines[2].lot": "B",
            "wrong[1].what": "Gloves",
            "wrong[1].units": "2",
            "wrong[2].what": "Masks",
            "wrong[2].units": "2",
            "twice": "yes",
        },
        takes={
            "code": ANY_TEXT,
            "order": OPTIONAL,
            "lines[].lot": OPTIONAL,
            "lines[].expires_on": OPTIONAL,
            "wrong[].lot": OPTIONAL,
            "complete": NEUTRAL_UNLESS_YES,
        },
        refused=(({"action": "read", "code": "(01)1234"}, "code"),),
    ),
    Row(
        route="/h/{household}/shelf/waste",
        path="/h/home/shelf/waste",
        fill={"reason": "the box got wet"},
        takes={"lot": OPTIONAL},
    ),
    Row(
        route="/h/{household}/shelf/move",
        path="/h/home/shelf/move",
        fill={"where": "bag", "units": "1"},
        takes={"lot": OPTIONAL},
    ),
    Row(route="/h/{household}/shelf/recall", path="/h/home/shelf/recall", fill={"lot": "L1"}),
)
ORDERS = (
    Row(
        route="/h/{household}/order",
        path="/h/home/order",
        fill={"said_yes": "yes", "lines[3].boxes": "1"},
        takes={"lines[].boxes": OPTIONAL, "promised_on": OPTIONAL},
        refused=(
            ({"said_yes": ""}, "said_yes"),
            ({"promised_on": "2026-03-10"}, "promised_on"),
            ({"express": "yes"}, "express"),
        ),
    ),
    Row(route="/h/{household}/order/decline", path="/h/home/order/decline", page="/h/home/order"),
    Row(
        route="/h/{household}/orders/{order}/step",
        path="/h/home/orders/o1/step",
        page="/h/home/orders/o1",
        fill={"step": "acknowledged"},
        takes={"expected_on": OPTIONAL},
        refused=(({"on": "2026-03-12"}, "on"), ({"expected_on": "2026-03-01"}, "expected_on")),
    ),
)
SETTINGS = (
    Row(
        route="/h/{household}/settings/regimen",
        path="/h/home/settings/regimen",
        fill={"ordered_by": "Dr Example"},
        takes={"rrule": ANY_TEXT, "session_limit_ml": OPTIONAL},
        refused=(NO_WEEKDAY, ({"pattern": "rrule", "rrule": "monthly"}, "rrule")),
    ),
    Row(
        route="/h/{household}/settings/away",
        path="/h/home/settings/away",
        takes={"ends_on": OPTIONAL},
        refused=(({"ends_on": "2026-03-11"}, "ends_on"),),
    ),
    setting(
        "supplier",
        takes={
            "contact": OPTIONAL,
            "phone": OPTIONAL,
            "express_business_days": OPTIONAL,
            "standing_rrule": ANY_TEXT,
            "standing_starts_on": ANY_DAY,
            "holiday_region": OPTIONAL,
        },
        refused=(
            ({"van": "weekdays"}, "weekdays"),
            ({"van": "standing", "standing_starts_on": ""}, "standing_starts_on"),
        ),
    ),
    setting("closed", fill=DAYS_AWAY, takes={"reason": OPTIONAL}),
    setting(
        "item",
        fill={"code": "NEW", "name": "New", "units_per_box": "5", "capacity_ml": "500"},
        takes={"code": OPTIONAL},
    ),
    setting("goods"),
    setting("allowed", fill={"units": "20"}),
    setting("tube", takes={"expected_ml_per_day": OPTIONAL, "removed_on": OPTIONAL}),
    setting("care-team", fill={"name": "Nurses"}, takes={"phone": OPTIONAL}),
    setting("plan", takes={"most_units_at_home": OPTIONAL, "prescription_ends_on": OPTIONAL}),
    setting("household"),
)
QUESTIONS = (
    question("travel", fill=DAYS_AWAY, takes={"take[].units": OPTIONAL}),
    question("stay", fill=DAYS_AWAY, takes={"ends_on": OPTIONAL}),
    question("supplier", fill=DAYS_AWAY),
    question("delivery", fill={"business_days": "2"}),
    question("damage", fill={"units": "2"}, takes={"lot": OPTIONAL}),
    question(
        "plan",
        fill={"starts_on": "2026-03-16"},
        takes={"session_limit_ml": OPTIONAL, "ordered_by": ANY_TEXT},
        refused=(({"pattern": "rrule"}, "weekdays"),),
    ),
)
PEOPLE = (
    Row(route="/h/{household}/people", path="/h/home/people", takes={"note": OPTIONAL}),
    Row(route="/h/{household}/delete", path="/h/home/delete"),
    Row(route="/account/name", path="/account/name", page="/account"),
    Row(route="/account/delete", path="/account/delete"),
    Row(route="/password/{reset}", path=f"/password/{RESET}", who="nobody"),
    Row(
        route="/join/{secret}",
        path=f"/join/{SECRET}",
        who="nobody",
        fill={"name": "Nora", "email": "nora@test.example", "password": "a long enough password"},
    ),
    Row(route="/display", path="/display"),
    Row(
        route="/start",
        path="/start",
        fill={"name": "M. A.", "time_zone": "Europe/Lisbon"},
        takes={
            "size": OPTIONAL,
            "bottle_ml": ANY_NUMBER,
            "kits": OPTIONAL,
            "loose_bottles": OPTIONAL,
            "kits_per_box": OPTIONAL,
            "lead_business_days": OPTIONAL,
            "supplier_name": OPTIONAL,
            "supplier_phone": OPTIONAL,
        },
        refused=(NO_WEEKDAY, ({"size": "other", "bottle_ml": "lots"}, "bottle_ml")),
    ),
    Row(route="/import", path="/import", passed_over=("role",)),
    Row(route="/h/{household}/import", path="/h/bare/import", page="/h/bare/data"),
    Row(
        route="/sign-in",
        path="/sign-in",
        who="nobody",
        fill={"email": "pat@test.example", "password": "whatever it is"},
        named={"password": "email"},
        status=401,
    ),
    Row(
        route="/account/password",
        path="/account/password",
        page="/account",
        fill={"old_password": PASSWORD, "new_password": "another long password"},
        refused=(({"old_password": "not the old one"}, "old_password"),),
    ),
    Row(
        route="/h/{household}/people/role",
        path="/h/home/people/role",
        page="/h/home/people",
        named={"role": "member[2].role"},
    ),
)
OTHERS = (
    Row(route="/h/{household}/paper/chart", path="/h/home/paper/chart"),
    Row(
        route="/h/{household}/reminders",
        path="/h/home/reminders",
        takes={"detailed": NEUTRAL_UNLESS_YES},
    ),
    Row(
        route="/h/{household}/calendar",
        path="/h/home/calendar",
        takes={"detailed": NEUTRAL_UNLESS_YES},
    ),
    Row(
        route="/agency/{agency}",
        path="/agency/ours",
        who="cody",
        takes={"search": ANY_TEXT},
    ),
    Row(
        route="/agency/{agency}/calendar",
        path="/agency/ours/calendar",
        who="cody",
        takes={"detailed": NEUTRAL_UNLESS_YES},
    ),
    Row(
        route="/agency/{agency}/calendar/shows",
        path="/agency/ours/calendar/shows",
        page="/agency/ours/calendar",
        who="cody",
    ),
    Row(
        route="/agency/{agency}/reminders",
        path="/agency/ours/reminders",
        who="cody",
        takes={"detailed": NEUTRAL_UNLESS_YES},
    ),
    Row(
        route="/agency/{agency}/people",
        path="/agency/ours/people",
        who="cody",
        takes={"note": OPTIONAL},
    ),
    Row(route="/agency/{agency}/import", path="/agency/ours/import", who="cody"),
)
ROWS = RECORDING + ORDERS + SETTINGS + QUESTIONS + PEOPLE + OTHERS

BUTTONS = {
    "/sign-out",
    "/h/{household}/undo",
    "/h/{household}/orders/{order}/undo",
    "/h/{household}/settings/undo",
    "/h/{household}/calendar/off",
    "/h/{household}/people/take-back",
    "/h/{household}/people/remove",
    "/h/{household}/people/leave",
    "/agency/{agency}/calendar/off",
    "/agency/{agency}/people/take-back",
    "/agency/{agency}/people/remove",
    "/agency/{agency}/people/leave",
    "/agency/{agency}/recalls/undo",
    "/account/device",
    "/account/sign-out-everywhere",
    "/join/{secret}/here",
    "/reminders/stop/{secret}",
}
"""Forms that are one button, with nothing to fill in."""

SPECIAL = {
    "/h/{household}/what-if/travel/list": "repeats a form that was answered",
    "/h/{household}/what-if/{question}/save": "repeats a form that was answered",
    "/h/{household}/shelf/wrong": "asks about goods: tests/app/pages/test_pages_shelf_moves.py",
    "/agency/{agency}/recalls": "asks twice: tests/app/pages/test_pages_recalls.py",
}
"""Forms that are tried elsewhere, each with the reason."""
