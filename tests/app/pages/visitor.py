"""A reader of pages that fills in their forms as a browser without scripts would."""

from __future__ import annotations

import html
import re
from dataclasses import dataclass, field
from html.parser import HTMLParser

import httpx
from fastapi.testclient import TestClient


@dataclass
class PageForm:
    """A form of a page with the values it would send untouched."""

    method: str
    action: str
    values: dict[str, str] = field(default_factory=dict)


class _FormReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.forms: list[PageForm] = []
        self._select = ""
        self._open = False

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        if tag == "form":
            method = found.get("method", "get")
            self.forms.append(PageForm(method=method, action=found.get("action", "")))
            self._open = True
        if not self._open:
            return
        values = self.forms[-1].values
        name = found.get("name", "")
        if tag == "input" and name:
            ticked = found.get("type") not in ("radio", "checkbox") or "checked" in found
            if ticked:
                values[name] = found.get("value", "")
        if tag == "select":
            self._select = name
        chosen = "selected" in found or self._select not in values
        if tag == "option" and self._select and chosen:
            values[self._select] = found.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = False
        if tag == "select":
            self._select = ""


class _TextReader(HTMLParser):
    def __init__(self) -> None:
        super().__init__()
        self.parts: list[str] = []

    def handle_data(self, data: str) -> None:
        self.parts.append(data)


def text_of(page: httpx.Response) -> str:
    """What a page says, white space joined."""
    reader = _TextReader()
    reader.feed(page.text)
    return re.sub(r"\s+", " ", " ".join(reader.parts))


def forms_of(page: httpx.Response) -> list[PageForm]:
    reader = _FormReader()
    reader.feed(page.text)
    return reader.forms


def faults_of(page: httpx.Response) -> list[str]:
    """The linked sentences of the summary of faults; each link must lead to a field."""
    links = re.findall(r'<li><a href="#([^"]+)">([^<]+)</a></li>', page.text)
    for anchor, _ in links:
        assert f'id="{anchor}"' in page.text, anchor
    return [html.unescape(text) for _, text in links]


class Visitor:
    """A signed-in person with a browser."""

    def __init__(self, client: TestClient) -> None:
        self.client = client

    def get(self, path: str) -> httpx.Response:
        page: httpx.Response = self.client.get(path)
        return page

    def see(self, path: str) -> str:
        """What the page says; it must be there."""
        page = self.client.get(path)
        assert page.status_code == 200, (path, page.status_code)
        return text_of(page)

    def form(self, path: str, holding: str) -> PageForm:
        """The form of a page that has a field of this name."""
        page = self.client.get(path)
        assert page.status_code == 200, (path, page.status_code)
        return next(one for one in forms_of(page) if holding in one.values)

    def send(self, path: str, changes: dict[str, str], holding: str) -> httpx.Response:
        """Open a page, change some values of a form, send it."""
        form = self.form(path, holding)
        return self.post(form.action or path, form.values | changes)

    def post(self, path: str, values: dict[str, str]) -> httpx.Response:
        answer: httpx.Response = self.client.post(path, data=values)
        return answer

    def follow(self, answer: httpx.Response) -> str:
        """What the page says that an answer leads to."""
        assert answer.status_code == 303, (answer.status_code, text_of(answer))
        return self.see(answer.headers["location"])
