"""Every route of the application, asked by every role: rights are checked on the server.

Routes are found in the application itself and held to the strictest rule by default, so that a
new page cannot be forgotten: it needs a sign-in, is there for members only, and what it sends is
not for viewers. Exceptions are listed here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from fastapi import FastAPI
from fastapi.routing import APIRoute, iter_route_contexts
from fastapi.testclient import TestClient

from tests.app.pages.conftest import Enter
from tests.app.pages.visitor import Visitor

MEMBERS = ("pat", "cara", "cody")
OUTSIDERS = ("stranger", "rival")

OWN = {
    ("POST", "/h/{household}/calendar"),
    ("POST", "/h/{household}/calendar/off"),
    ("POST", "/h/{household}/reminders"),
    ("POST", "/h/{household}/people/leave"),
}
"""What a viewer sends about themselves; nothing of the household changes by it."""

ONLY_ASKS = {
    ("POST", "/h/{household}/what-if/{question}"),
    ("POST", "/h/{household}/what-if/travel/list"),
    ("POST", "/h/{household}/paper/chart"),
}
"""Forms that are sent to get an answer; nothing is written down by them."""

OPEN = {
    ("GET", "/sign-in"),
    ("POST", "/sign-in"),
    ("GET", "/when-to-call"),
    ("GET", "/favicon.ico"),
    ("GET", "/join/{secret}"),
    ("POST", "/join/{secret}"),
    ("GET", "/calendar/{secret}.ics"),
    ("GET", "/password/{reset}"),
    ("POST", "/password/{reset}"),
    ("GET", "/reminders/stop/{secret}"),
    ("POST", "/reminders/stop/{secret}"),
}
"""What needs no sign-in: nothing personal, or a secret in the address that opens it."""

VALUES = {"household": "home", "agency": "ours"}


def all_routes(application: FastAPI) -> Iterator[tuple[str, str]]:
    for one in iter_route_contexts(application.routes):
        route = one.original_route
        if isinstance(route, APIRoute):
            yield from (
                (method, one.path or "") for method in route.methods or () if method != "HEAD"
            )


def address_of(path: str) -> str:
    return re.sub(r"\{(\w+)(?::\w+)?\}", lambda found: VALUES.get(found[1], "nothing-here"), path)


@pytest.fixture
def routes(client: TestClient) -> list[tuple[str, str]]:
    application = client.app
    assert isinstance(application, FastAPI)
    found = sorted(set(all_routes(application)))
    assert len(found) > 40
    assert {("POST", "/h/{household}/undo"), ("GET", "/agency/{agency}")} <= set(found)
    return found


def inside(routes: list[tuple[str, str]], start: str) -> list[tuple[str, str]]:
    return [(method, path) for method, path in routes if path.startswith(start)]


def ask(visitor: Visitor, method: str, path: str, token: str) -> int:
    if method == "GET":
        return visitor.get(address_of(path)).status_code
    return visitor.post(address_of(path), {"form_token": token}).status_code


def token_of(visitor: Visitor) -> str:
    return visitor.form("/when-to-call", "form_token").values["form_token"]


def test_the_exceptions_are_routes_and_nothing_but_get_and_post_is_answered(
    routes: list[tuple[str, str]],
) -> None:
    assert (OPEN | OWN | ONLY_ASKS) - set(routes) == set()
    assert {method for method, _ in routes} == {"GET", "POST"}


def test_without_signing_in_every_other_route_leads_to_the_sign_in(
    client: TestClient, routes: list[tuple[str, str]]
) -> None:
    visitor = Visitor(client)
    for method, path in routes:
        if (method, path) in OPEN:
            continue
        answer = (
            visitor.get(address_of(path)) if method == "GET" else visitor.post(address_of(path), {})
        )
        assert answer.status_code == 303, (method, path)
        assert answer.headers["location"].startswith("/sign-in"), (method, path)


@pytest.mark.parametrize("who", OUTSIDERS)
def test_somebody_from_elsewhere_finds_no_household_and_no_agency(
    who: str, enter: Enter, routes: list[tuple[str, str]]
) -> None:
    visitor = enter(who)
    token = token_of(visitor)
    for method, path in (*inside(routes, "/h/{household}"), *inside(routes, "/agency/{agency}")):
        assert ask(visitor, method, path, token) == 404, (method, path)


@pytest.mark.parametrize("who", ["pat", "cara", "vic"])
def test_members_of_a_household_find_no_agency(
    who: str, enter: Enter, routes: list[tuple[str, str]]
) -> None:
    visitor = enter(who)
    token = token_of(visitor)
    for method, path in inside(routes, "/agency/{agency}"):
        assert ask(visitor, method, path, token) == 404, (method, path)


def test_a_viewer_changes_nothing_at_any_route(enter: Enter, routes: list[tuple[str, str]]) -> None:
    visitor = enter("vic")
    token = token_of(visitor)
    for method, path in inside(routes, "/h/{household}"):
        if method == "POST" and (method, path) not in OWN | ONLY_ASKS:
            assert ask(visitor, method, path, token) == 404, path


def test_a_viewer_s_pages_hold_no_form_but_their_own(
    enter: Enter, routes: list[tuple[str, str]]
) -> None:
    visitor = enter("vic")
    own = {address_of(path) for _, path in OWN | ONLY_ASKS} | {"/sign-out"}
    seen = 0
    for method, path in inside(routes, "/h/{household}"):
        page = visitor.get(address_of(path)) if method == "GET" else None
        if page is None or page.status_code in (303, 404):
            continue
        assert page.status_code == 200, path
        seen += 1
        posted = re.findall(r'<form[^>]*method="post"[^>]*action="([^"]*)"', page.text)
        assert set(posted) <= own, path
        assert '<form method="post">' not in page.text, path
    assert seen >= 6


@pytest.mark.parametrize("who", [*MEMBERS, "vic"])
def test_no_form_works_without_the_hidden_value_of_its_browser(
    who: str, enter: Enter, routes: list[tuple[str, str]]
) -> None:
    visitor = enter(who)
    for method, path in routes:
        if method == "POST" and (method, path) not in OPEN:
            status = visitor.post(address_of(path), {"form_token": "guess"}).status_code
            assert status in (403, 404), path


@pytest.mark.parametrize("who", MEMBERS)
def test_patient_carer_and_coordinator_are_let_in_everywhere(
    who: str, enter: Enter, routes: list[tuple[str, str]]
) -> None:
    """Routes that need only the household; 403 says that the right was there, the form was not."""
    visitor = enter(who)
    for method, path in inside(routes, "/h/{household}"):
        if re.findall(r"\{(\w+)", path) != ["household"]:
            continue
        if method == "GET":
            assert visitor.get(address_of(path)).status_code in (200, 303), path
        else:
            guess = visitor.post(address_of(path), {"form_token": "guess"})
            assert guess.status_code == 403, path
