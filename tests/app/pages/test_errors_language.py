"""Every form, sent empty and with nonsense by somebody who reads German, answers in German.

Forms are found on the pages.
"""

from __future__ import annotations

import html
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html.parser import HTMLParser

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from sqlmodel import Session, select

from app.main import create_app
from app.messages import CATALOGUE
from app.models_settings import DisplayChoiceRow
from app.texts import TEXTS
from tests.app.pages.test_pages_language import (
    ENGLISH_WORDS,
    LETTERS,
    OWN_NAMES,
    PLACES,
    SETTINGS,
    WHERE,
    accounts,
    outside_brackets,
    texts_of,
)
from tests.browser.every_page import routes

__all__ = ["accounts"]

TYPED = ("", "zzz", "-1", "99999999")
"""What is typed into every field that takes text."""

FREE = ("hidden", "radio", "checkbox", "submit", "file")


@dataclass
class TypedForm:
    """A form of a page: where it goes, what it holds untouched, which fields take text."""

    action: str
    values: dict[str, str]
    typed: list[str]


class Forms(HTMLParser):
    """Finds the forms of a page that are posted."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[TypedForm] = []
        self._open = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        has = {name: value or "" for name, value in attrs}
        if tag == "form":
            self._open = has.get("method") == "post"
            if self._open:
                self.found.append(TypedForm(action=has.get("action", ""), values={}, typed=[]))
        name = has.get("name", "")
        if not self._open or not name or tag not in ("input", "select", "textarea"):
            return
        kind = has.get("type", "text")
        if tag != "input" or kind not in FREE:
            self.found[-1].typed.append(name)
        elif kind == "hidden":
            self.found[-1].values[name] = has.get("value", "")

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = False


def answers(engine: Engine, secrets: dict[str, str], language: str) -> Iterator[tuple[str, str]]:
    """What each form says to each nonsense; forms without a field to type in are left alone."""
    with Session(engine) as db:
        for row in db.exec(select(DisplayChoiceRow)):
            row.language = language
        db.commit()
    application = create_app(SETTINGS, engine)
    for who, root in (("cara", ("/h/home", "/account", "/display", "/start")), ("cody", "/agency")):
        with TestClient(
            application, headers={"Accept-Language": language}, follow_redirects=False
        ) as client:
            client.cookies.set(SETTINGS.cookie_name, secrets[who])
            paths = [
                path
                for route in routes()
                for path in WHERE.paths(route, who)
                if path.startswith(root) and "?" not in path
            ]
            for path in dict.fromkeys(paths):
                page = client.get(path)
                if not page.headers.get("content-type", "").startswith("text/html"):
                    continue
                for form in Forms(page.text).found:
                    for typed in TYPED if form.typed else ():
                        data = form.values | dict.fromkeys(form.typed, typed)
                        answer = client.post(form.action or path, data=data)
                        if answer.status_code >= 400:
                            yield f"{typed!r} to {form.action or path}", answer.text


class Noting(dict[str, str]):
    """A catalogue that notes what is looked up and is not in it."""

    def __init__(self, known: Mapping[str, str]) -> None:
        super().__init__(known)
        self.missing: dict[str, None] = {}

    def get(self, key: str, default: object = None) -> str:
        if key not in self:
            self.missing.setdefault(key)
        return str(super().get(key, default))


def test_what_is_wrong_is_said_in_german(
    sqlite_engine: Engine, accounts: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    texts = Noting(TEXTS["de"])
    monkeypatch.setitem(TEXTS, "de", texts)
    english: dict[str, str] = {}
    places = set()
    for where, page in answers(sqlite_engine, accounts, "de"):
        assert '<html lang="de">' in page, where
        assert "Halten Sie sich an Ihren eigenen Plan." in page, where
        places.add(where.rpartition(" ")[2])
        said = (outside_brackets(one) for one in texts_of(PLACES.sub("", page)))
        english |= {one: where for one in said if ENGLISH_WORDS.search(one)}
        for place in PLACES.findall(page):
            texts.missing.pop(html.unescape(place), None)
    assert len(places) > 20
    assert not english, "\n" + "\n".join(f"{where}: {text}" for text, where in english.items())
    said_otherwise = {text for text in CATALOGUE["de"].values() if isinstance(text, str)}
    said_otherwise |= set(texts.values())  # templates come translated
    missing = [
        text
        for text in texts.missing
        if LETTERS.search(text) and not OWN_NAMES.fullmatch(text) and text not in said_otherwise
    ]
    assert missing == ["English"]
