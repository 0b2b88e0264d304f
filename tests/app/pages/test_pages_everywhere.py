"""What holds for every page: the caution, a neutral title, sound markup, who may see it."""

from __future__ import annotations

import re
from collections import Counter

import pytest
from fastapi.testclient import TestClient

from app.wording import STANDING_CAUTION
from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import text_of

HOUSEHOLD_PAGES = (
    "/h/home",
    "/h/home/sessions",
    "/h/home/sessions/new",
    "/h/home/shelf",
    "/h/home/shelf/count",
    "/h/home/shelf/receive",
    "/h/home/shelf/receive?order=o1",
    "/h/home/shelf/waste",
    "/h/home/shelf/move",
    "/h/home/shelf/recall",
    "/h/home/order",
    "/h/home/order/amounts",
    "/h/home/orders/o1",
    "/h/home/orders/o1/print",
    "/h/home/calendar",
    "/h/home/settings",
    "/h/home/settings/regimen",
    "/h/home/settings/away",
)
OWN_PAGES = ("/display", "/start")
AGENCY_PAGES = ("/agency/ours", "/agency/ours/order", "/agency/ours/calendar")
FILES = (
    "/agency/ours/order.fhir.json",
    "/h/home/orders/o1/order.csv",
    "/h/home/orders/o1/order.fhir.json",
)
OPEN_PAGES = ("/sign-in", "/when-to-call", "/nowhere")
ILLNESS = re.compile(
    r"drain|catheter|chest|abdom|pleur|ascit|cancer|fluid|sick|ill\b", re.IGNORECASE
)


def check(page: str) -> None:
    title = re.search(r"<title>([^<]+)</title>", page)
    assert title is not None
    assert not ILLNESS.search(title[1])
    assert page.count("<h1") == 1
    ids = Counter(re.findall(r'\sid="([^"]+)"', page))
    assert [one for one, times in ids.items() if times > 1] == []
    for target in re.findall(r'(?:\sfor|aria-labelledby)="([^"]+)"', page):
        for one in target.split():
            assert one in ids, one
    assert re.findall(r'(?:src|href|action)="(?:https?:)?//', page) == []
    assert re.findall(r"<script(?! src=\"/static/[a-z]+\.js\" defer></script>)", page) == []
    assert " style=" not in page


@pytest.mark.parametrize(
    ("who", "path", "in_sight", "folded"),
    [
        ("pat", "/h/home", ["", "/sessions/new", "/shelf", "/order"], 6),
        ("vic", "/h/home", ["", "/shelf", "/order"], 6),
        ("cody", "/agency/ours", ["", "/order", "/recalls", "/calendar", "/people"], 0),
    ],
)
def test_a_long_menu_shows_the_daily_pages_and_folds_the_rest(
    who: str, path: str, in_sight: list[str], folded: int, enter: Enter
) -> None:
    page = enter(who).get(path).text
    menu = page.partition('aria-label="Pages"')[2].partition("</nav>")[0]
    row, _, rest = menu.partition("<details")
    assert re.findall(r'href="([^"]+)"', row) == [path + one for one in in_sight]
    assert rest.count("href=") == folded


@pytest.mark.parametrize("path", ["/account", "/display", "/when-to-call", "/start", "/import"])
def test_a_page_of_no_household_leads_home(path: str, enter: Enter) -> None:
    assert "Go to the start page" in enter("pat").see(path)


@pytest.mark.parametrize(
    ("who", "paths"),
    [
        ("pat", HOUSEHOLD_PAGES),
        ("cara", HOUSEHOLD_PAGES + OWN_PAGES),
        ("cody", HOUSEHOLD_PAGES + AGENCY_PAGES),
    ],
)
def test_everybody_sees_their_pages(who: str, paths: tuple[str, ...], enter: Enter) -> None:
    visitor = enter(who)
    for path in paths:
        page = visitor.get(path)
        assert page.status_code == 200, path
        assert STANDING_CAUTION in page.text
        assert 'href="/when-to-call"' in page.text
        check(page.text)


@pytest.mark.parametrize("path", OPEN_PAGES)
def test_pages_without_signing_in_carry_the_caution_too(path: str, client: TestClient) -> None:
    page = client.get(path)
    assert page.status_code == (404 if path == "/nowhere" else 200)
    assert STANDING_CAUTION in page.text
    check(page.text)


@pytest.mark.parametrize("who", ["stranger", "rival"])
def test_others_find_nothing(who: str, enter: Enter) -> None:
    visitor = enter(who)
    for path in (*HOUSEHOLD_PAGES, *AGENCY_PAGES, "/agency/ours/order.csv", *FILES):
        page = visitor.get(path)
        assert page.status_code == 404, path
        assert "Household of the tests" not in page.text


def test_without_a_login_every_page_leads_to_the_sign_in(client: TestClient) -> None:
    for path in (*HOUSEHOLD_PAGES, *AGENCY_PAGES, *OWN_PAGES, "/"):
        answer = client.get(path)
        assert answer.status_code == 303
        assert answer.headers["location"].startswith("/sign-in?next=/")


WRITING = (
    "/h/home/sessions/new",
    "/h/home/undo",
    "/h/home/shelf/count",
    "/h/home/shelf/receive",
    "/h/home/shelf/waste",
    "/h/home/shelf/move",
    "/h/home/shelf/recall",
    "/h/home/order",
    "/h/home/order/decline",
    "/h/home/orders/o1/step",
    "/h/home/orders/o1/undo",
    "/h/home/settings/regimen",
    "/h/home/settings/away",
    "/h/home/settings/undo",
)


@pytest.mark.parametrize(("who", "status"), [("vic", 404), ("rival", 404), ("cara", 403)])
def test_writing_needs_the_right_person_and_the_form_of_their_browser(
    who: str, status: int, enter: Enter
) -> None:
    visitor = enter(who)
    token = visitor.form("/when-to-call", "form_token").values["form_token"]
    values = {"form_token": token} if who != "cara" else {"form_token": "guess"}
    for path in WRITING:
        assert visitor.post(path, values).status_code == status, path


@pytest.mark.parametrize("path", ["/h/home/undo", "/h/home/orders/o1/undo", "/sign-out"])
def test_nothing_is_changed_by_a_link(path: str, enter: Enter) -> None:
    page = enter("cara").get(path)
    assert page.status_code == 405
    assert "Nothing was changed" in page.text


def test_a_viewer_is_shown_no_buttons_that_do_not_work(enter: Enter) -> None:
    vic = enter("vic")
    for path in (
        "/h/home",
        "/h/home/sessions",
        "/h/home/shelf",
        "/h/home/order",
        "/h/home/orders/o1",
    ):
        page = vic.get(path)
        assert page.status_code == 200
        forms = re.findall(r'<form[^>]*action="([^"]*)"', page.text)
        assert forms == ["/sign-out"], path
        assert "/sessions/new" not in page.text
    assert vic.get("/h/home/sessions/new").status_code == 404


def test_when_to_call_puts_the_person_s_own_plan_first(client: TestClient) -> None:
    said = text_of(client.get("/when-to-call"))
    assert "Your own plan and what your nurse or doctor told you come first" in said
    assert "Never skip or delay a session to save supplies" in said
    assert "emergency number" in said
