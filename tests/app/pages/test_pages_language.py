"""No page holds a text that cannot be said in another language.

This is tested with a language made up for it, which puts ⟦brackets⟧ around whatever is
looked up. What then stands outside of brackets is not behind the catalogue. Names of the
household's own are in «marks».
"""

from __future__ import annotations

import ast
import html
import re
from collections.abc import Iterator
from dataclasses import replace
from datetime import date, datetime

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from sqlmodel import Session, select

from app.access import Role
from app.convert import write_household
from app.demo import AGENCY_ID
from app.main import create_app
from app.messages import CATALOGUE, ENGLISH, Message, message
from app.models import AccountRow, AgencyRow, LoginRow
from app.models_settings import DisplayChoiceRow
from app.security import new_secret
from app.services_accounts import add_coordinator, add_member
from app.settings import ROOT, TEMPLATES, Settings
from app.template_texts import check_places, keys_of
from app.texts import TEXTS
from app.wording import count_text, day_text, number_text, volume_text
from planner.household import Household
from planner.ledger import Count
from planner.supply import Contact, SupplierTerms
from tests.app.data_builders import BOTTLE, GLOVES, KIT, UTC_NOW, make_household
from tests.browser.every_page import Demo, routes

SETTINGS = Settings(base_url="http://testserver")
UNMARKED = ("number-marks",)
APP = ROOT / "app"
LISTS = ("weekdays", "weekday-names", "months", "months-short")
WHERE = Demo(base="", households=("home", "short"))


class Marked(dict[str, str]):
    """A catalogue that has every text, in brackets."""

    def get(self, key: str, default: object = None) -> str:
        return f"⟦{key}⟧"


def in_brackets(message: Message, code: str) -> Message:
    if code in UNMARKED:
        return message
    if isinstance(message, tuple):
        return (f"⟦{message[0]}⟧", f"⟦{message[1]}⟧")
    if code in LISTS:
        return " ".join(f"⟦{word}⟧" for word in message.split())
    return f"⟦{message}⟧"


def marked_household(name: str, **changes: object) -> Household:
    plain = make_household(id=name, name=f"«{name}»", **changes)
    return replace(
        plain,
        items=tuple(replace(item, name=f"«{item.code}»") for item in plain.items),
        catheters=tuple(replace(one, label="«right»") for one in plain.catheters),
        supplier=SupplierTerms(
            name="«supplier»",
            lead_business_days=3,
            contact=Contact(name="«desk»", phone="555 0100"),
        ),
        care_team=Contact(name="«team»"),
    )


@pytest.fixture
def accounts(sqlite_engine: Engine, monkeypatch: pytest.MonkeyPatch) -> dict[str, str]:
    """The secret of everybody's sign-in."""
    monkeypatch.setenv("EBBSTOCK_NOW", UTC_NOW.isoformat())
    few = (Count(id="c1", at=datetime(2026, 3, 10, 20, 0), item_code=KIT, units=2),)
    secrets = {}
    with Session(sqlite_engine) as db:
        db.add(AgencyRow(id=AGENCY_ID, name="«agency»"))
        db.flush()
        write_household(db, marked_household("home"), agency_id=AGENCY_ID)
        write_household(db, marked_household("short", ledger=few, orders=()), agency_id=AGENCY_ID)
        for name in ("cara", "cody"):
            account = AccountRow(
                email=f"{name}@x.example", name=f"«{name}»", password_hash="-", created_at=UTC_NOW
            )
            db.add(account)
            db.flush()
            if name == "cara":
                add_member(db, account, "home", Role.CARER)
                add_member(db, account, "short", Role.CARER)
            else:
                add_coordinator(db, account, AGENCY_ID)
            fresh = new_secret()
            secrets[name] = fresh.secret
            who = account.id or 0
            db.add(
                LoginRow(
                    token_hash=fresh.secret_hash,
                    account_id=who,
                    created_at=UTC_NOW,
                    last_seen_at=UTC_NOW,
                )
            )
            db.add(
                DisplayChoiceRow(account_id=who, date_style="usual", volume_unit="ml", language="")
            )
        db.commit()
    return secrets


def pages(engine: Engine, secrets: dict[str, str], language: str) -> Iterator[tuple[str, str]]:
    """Every page of everybody in a language."""
    with Session(engine) as db:
        for row in db.exec(select(DisplayChoiceRow)):
            row.language = language
        db.commit()
    application = create_app(SETTINGS, engine)
    for who, secret in (("nobody", ""), *secrets.items()):
        with TestClient(application, headers={"Accept-Language": language}) as client:
            if secret:
                client.cookies.set(SETTINGS.cookie_name, secret)
            for route in (*routes(), "/nowhere"):
                for path in WHERE.paths(route, "cody"):
                    answer = client.get(path)
                    kind = answer.headers.get("content-type", "")
                    if kind.startswith("text/html"):
                        yield f"{path} as {who}", answer.text


SHOWN = re.compile(r'\b(?:aria-label|placeholder|data-head|alt)="([^"]*)"')


def texts_of(page: str) -> list[str]:
    """Everything a page says, in its text and in its attributes."""
    page = re.sub(r"<style>.*?</style>", "", page, flags=re.DOTALL)
    found = SHOWN.findall(page) + re.sub(r"<[^>]*>", "\n", page).split("\n")
    return [html.unescape(one).strip() for one in found if one.strip()]


def outside_brackets(text: str) -> str:
    before = ""
    while before != text:
        before, text = text, re.sub(r"⟦[^⟦⟧]*⟧|«[^«»]*»", "", text)
    return text


LETTERS = re.compile(r"[^\W\d_]{2}")
OWN_CODES = ("home", "short", KIT, BOTTLE, GLOVES)
NAMES = re.compile(r"Ebbstock|\S+@\S+|Europe/\w+|[a-z]+\.example")


def test_every_text_is_behind_the_catalogue(
    sqlite_engine: Engine, accounts: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    made_up = {code: in_brackets(message, code) for code, message in ENGLISH.items()}
    monkeypatch.setitem(CATALOGUE, "xx", made_up)
    monkeypatch.setitem(TEXTS, "xx", Marked())
    bare: dict[str, str] = {}
    count = 0
    for path, page in pages(sqlite_engine, accounts, "xx"):
        count += 1
        joined = re.sub(r"<(/?)(?:strong|a|b|span)\b[^>]*>", "", page)
        for text in texts_of(joined):
            left = NAMES.sub("", outside_brackets(text))
            if left.strip() not in OWN_CODES and LETTERS.search(left):
                bare.setdefault(left, path)
    assert count > 40
    assert not bare, "\n" + "\n".join(f"{path}: {text}" for text, path in bare.items())


def test_german_says_everything_that_is_looked_up(
    sqlite_engine: Engine, accounts: dict[str, str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Templates and calls with the text written out are read; other texts are seen on pages."""
    wanted: dict[str, str] = {}
    for template in sorted(TEMPLATES.glob("*.html")):
        for key in keys_of(template.read_text(encoding="utf-8")):
            wanted.setdefault(key, template.name)
    for module in sorted(APP.rglob("*.py")):
        for key in literal_texts(module.read_text(encoding="utf-8")):
            wanted.setdefault(key, module.name)

    plan_texts = {text for text in ENGLISH.values() if isinstance(text, str)}
    plan_texts |= {str(message("language-name", language=one)) for one in CATALOGUE}

    class Seen(dict[str, str]):
        def get(self, key: str, default: object = None) -> str:
            if not (OWN_NAMES.fullmatch(key) or key in plan_texts):
                wanted.setdefault(key, "seen on a page")
            return str(default)

    monkeypatch.setitem(CATALOGUE, "yy", ENGLISH)
    monkeypatch.setitem(TEXTS, "yy", Seen())
    seen = [page for _, page in pages(sqlite_engine, accounts, "yy")]
    assert len(seen) > 40
    for page in seen:
        for place in PLACES.findall(page):
            wanted.pop(html.unescape(place), None)
    german = TEXTS["de"]
    missing = {
        key: where for key, where in wanted.items() if LETTERS.search(key) and key not in german
    }
    assert not missing, "\n" + "\n".join(f"{where}: {key!r}" for key, where in missing.items())
    unlike = [key for key, text in german.items() if not check_places(key, text)]
    assert unlike == []
    assert ENGLISH.keys() - CATALOGUE["de"].keys() == set()


# Names of a household's own, and texts put together with figures.
OWN_NAMES = re.compile(r".*[«\d].*|[^a-zA-Z]*|.*/.*|UTC|[A-Z]{2,}")
# Names of countries and cities are a table of their own (app.places).
PLACES = re.compile(r'<option value="(?:[A-Z]{2}|[^"]*/[^"]*)"[^>]*>([^<]*)</option>')
ENGLISH_WORDS = re.compile(
    r"\b(?:the|and|of|you|your|are|with|this|from|not|or|to)\b", re.IGNORECASE
)


def test_pages_in_german_hold_no_english(sqlite_engine: Engine, accounts: dict[str, str]) -> None:
    english: dict[str, str] = {}
    count = 0
    for path, page in pages(sqlite_engine, accounts, "de"):
        count += 1
        assert '<html lang="de">' in page, path
        assert "Halten Sie sich an Ihren eigenen Plan." in page, path
        said = (outside_brackets(one) for one in texts_of(PLACES.sub("", page)))
        english |= {one: path for one in said if ENGLISH_WORDS.search(one)}
    assert count > 40
    assert not english, "\n" + "\n".join(f"{path}: {text}" for text, path in english.items())


def test_plurals_and_days_in_german() -> None:
    assert [count_text(n, "days", "de") for n in (1, 2, 1200)] == ["1 Tag", "2 Tage", "1.200 Tage"]
    assert [count_text(n, "kit", "de") for n in (1, 7)] == ["1 Set", "7 Sets"]
    day = date(2026, 3, 14)
    assert day_text(day, language="de") == "Sa, 14. März"
    assert day_text(day, with_year=True, language="de") == "Sa, 14. März 2026"
    assert volume_text(1250, "de") == "1.250 ml"
    assert number_text(2.5, 1, "de") == "2,5"


def literal_texts(source: str) -> Iterator[str]:
    """Texts that a module hands to `tr` written out."""
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "tr":
            for part in ast.walk(node.args[0]):
                text = part.value if isinstance(part, ast.Constant) else None
                if isinstance(text, str) and (text != text.lower() or " " in text):
                    yield text
