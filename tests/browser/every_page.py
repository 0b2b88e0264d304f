"""Every page there is, found by the program's own routes and filled in from the demo.

A new page needs nothing here as long as its path has only parts that `Demo.values_for` knows.
A path with another part fails the tests until an example for it is given there.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cache

import httpx
from fastapi.routing import APIRoute
from starlette.routing import BaseRoute

from app.demo import AGENCY_ID, CARER, COORDINATOR, PASSWORD, PATIENT
from app.main import all_routers
from app.routers.settings_terms import FORMS
from app.settings import DEFAULTS
from app.views_what_if import QUESTIONS

NOBODY = "nobody"
EMAILS: Mapping[str, str] = {"pat": PATIENT, "cara": CARER, "cody": COORDINATOR}
WHO = (NOBODY, *EMAILS)

SECRET = "a-secret-that-stands-in-an-address"
RESET = "another-secret-for-a-new-password"

# Pages that look different from one state of a household to the next.
OF_EVERY_HOUSEHOLD = (
    "/h/{household}",
    "/h/{household}/order",
    "/h/{household}/shelf",
    "/h/{household}/sessions/new",
)
QUERIES: Mapping[str, tuple[str, ...]] = {
    "/h/{household}": ("?done=session", "?done=undone"),
    "/agency/{agency}": ("?urgency=short", "?urgency=resting"),
}
NOWHERE = "/nowhere"
"""An address without a page, for the page that says so."""
# Answers that only lead elsewhere, whoever asks.
LEAD_ELSEWHERE = frozenset({"/agency"})
_PART = re.compile(r"\{(\w+)(?::\w+)?\}")
_SAME_TO_THE_EYE = re.compile(
    r'<input type="hidden"[^>]*>|<div class="who"><a [^>]*>\w+</a>|\b(?:href|action)="[^"]*"'
)


@cache
def routes() -> tuple[str, ...]:
    """The paths of all answers to GET, as written in the program."""
    found: list[BaseRoute] = [route for router in all_routers() for route in router.routes]
    paths = [
        one.path for one in found if isinstance(one, APIRoute) and "GET" in (one.methods or ())
    ]
    return tuple(dict.fromkeys(paths))


@dataclass(frozen=True, slots=True, kw_only=True)
class Visit:
    """A page as its visitor gets it."""

    who: str
    route: str
    path: str
    html: str


def distinct(visits: list[Visit]) -> list[Visit]:
    """Pages that differ in more than addresses, hidden values and the visitor's name."""
    seen = set()
    found = []
    for one in visits:
        looks = _SAME_TO_THE_EYE.sub("", one.html)
        if looks not in seen:
            seen.add(looks)
            found.append(one)
    return found


@dataclass(kw_only=True)
class Demo:
    """The demo on a port: who is signed in, and what stands in its record.

    Attributes:
        base: where it listens.
        households: ids of all households, the one of the demo accounts first.
        cookies: by person, what a signed-in browser sends.
    """

    base: str
    households: tuple[str, ...]
    cookies: dict[str, str] = field(default_factory=dict)

    def values_for(self, route: str, who: str) -> dict[str, tuple[str, ...]]:
        """Examples for each part of a path that stands in braces.

        Raises:
            LookupError: when a part has no known example.
        """
        of_all = who == "cody" and route in OF_EVERY_HOUSEHOLD
        known = {
            "household": self.households if of_all else self.households[:1],
            "agency": (AGENCY_ID,),
            "secret": (SECRET,),
            "reset": (RESET,),
            "order": ("o1",),
            "question": tuple(one.kind for one in QUESTIONS),
            "setting": tuple(FORMS),
        }
        values = {}
        for part in _PART.findall(route):
            if part not in known:
                message = (
                    f"The page {route} has no example for {{{part}}}. "
                    "Give one in tests/browser/every_page.py, Demo.values_for."
                )
                raise LookupError(message)
            values[part] = known[part]
        return values

    def paths(self, route: str, who: str) -> list[str]:
        """A route filled in, once for each example, and again with each of its queries."""
        paths = [_PART.sub(r"{\1}", route)]
        for part, values in self.values_for(route, who).items():
            paths = [path.replace(f"{{{part}}}", value) for path in paths for value in values]
        return paths + [paths[0] + query for query in QUERIES.get(route, ())]

    def client(self, who: str) -> httpx.Client:
        """A browser without scripts, signed in as this person."""
        client = httpx.Client(base_url=self.base, timeout=60)
        if who in self.cookies:
            client.cookies.set(DEFAULTS.cookie_name, self.cookies[who])
        return client

    def sign_everybody_in(self) -> None:
        """Sign the three people of the demo in with the form."""
        for who, email in EMAILS.items():
            with httpx.Client(base_url=self.base, timeout=60) as client:
                sent = {"email": email, "password": PASSWORD}
                client.post("/sign-in", data=sent, headers={"Origin": self.base})
                self.cookies[who] = client.cookies[DEFAULTS.cookie_name]

    def visits(self) -> list[Visit]:
        """Every page of every person; what one may not see or what is no page is left out."""
        found = []
        for who in WHO:
            with self.client(who) as client:
                for route in routes():
                    for path in self.paths(route, who):
                        answer = client.get(path)
                        kind = answer.headers.get("content-type", "")
                        if answer.status_code == 200 and kind.startswith("text/html"):
                            found.append(Visit(who=who, route=route, path=path, html=answer.text))
                lost = client.get(NOWHERE)
                found.append(Visit(who=who, route=NOWHERE, path=NOWHERE, html=lost.text))
        return found

    def without_a_page(self, visits: list[Visit]) -> list[str]:
        """Routes that nobody saw as a page and that give nothing else, either."""
        seen = {one.route for one in visits} | LEAD_ELSEWHERE
        missing = []
        for route in routes():
            if route in seen:
                continue
            answers = set()
            for who in WHO:
                with self.client(who) as client:
                    answers |= {client.get(path).status_code for path in self.paths(route, who)}
            if 200 not in answers:
                missing.append(f"{route}: nobody of the demo gets it ({answers})")
        return missing
