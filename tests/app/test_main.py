"""The application as a whole: headers, guards, error answers and what is logged."""

from __future__ import annotations

import logging
from collections.abc import Iterator

import pytest
from fastapi.testclient import TestClient
from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError
from sqlmodel import Session

from app.deps import CheckedForm, Now, RecordedHousehold, SignedIn, ViewedAgency, ViewedHousehold
from app.errors import OutOfDate, Throttled
from app.main import create_app
from app.middleware import LARGEST_FORM_BYTES
from app.models import AccountRow, LoginRow
from app.one_thread import in_one_thread
from app.security import form_token, new_secret
from app.settings import Settings
from planner.errors import InvalidValue
from tests.app.data_builders import UTC_NOW

SECRET = "secret-detail"
SETTINGS = Settings(base_url="http://testserver")


def failing() -> None:
    raise RuntimeError(SECRET)


def busy() -> None:
    raise OperationalError(f"UPDATE {SECRET}", {}, Exception("database is locked"))


def unplannable() -> None:
    raise InvalidValue("volume_ml", SECRET, "check it")


def throttled() -> None:
    raise Throttled


def out_of_date() -> None:
    raise OutOfDate


@pytest.fixture
def client(sqlite_engine: Engine) -> Iterator[TestClient]:
    """The application with a few routes of the test's own."""
    application = create_app(SETTINGS, sqlite_engine)

    @application.get("/try/me")
    @in_one_thread
    def me(login: SignedIn) -> str:
        return login.account.name

    @application.get("/try/{household}/view")
    @in_one_thread
    def view(access: ViewedHousehold, now: Now) -> str:
        return f"{access.household_name} {now}"

    @application.post("/try/{household}/write")
    @in_one_thread
    def write(access: RecordedHousehold, form: CheckedForm) -> str:
        return str(form["word"])

    @application.get("/try/agency/{agency}")
    @in_one_thread
    def agency(access: ViewedAgency) -> str:
        return access.agency_name

    @application.post("/try-open")
    def open_form() -> str:
        return "taken"

    @application.get("/try-large")
    def large() -> str:
        return "word " * 1000

    application.add_api_route("/try-fail", failing)
    application.add_api_route("/try-busy", busy)
    application.add_api_route("/try-unplannable", unplannable)
    application.add_api_route("/try-throttled", throttled)
    application.add_api_route("/try-old", out_of_date)
    with TestClient(application, raise_server_exceptions=False, follow_redirects=False) as made:
        yield made


@pytest.fixture
def db(sqlite_engine: Engine) -> Iterator[Session]:
    """These tests need one kind of database only."""
    with Session(sqlite_engine, expire_on_commit=False) as session:
        yield session


def enter(client: TestClient, db: Session, account: AccountRow) -> str:
    """Sign an account in without the form, and give the secret of its browser."""
    fresh = new_secret()
    db.add(
        LoginRow(
            token_hash=fresh.secret_hash,
            account_id=account.id or 0,
            created_at=UTC_NOW,
            last_seen_at=UTC_NOW,
        )
    )
    db.commit()
    client.cookies.set(SETTINGS.cookie_name, fresh.secret)
    return fresh.secret


People = dict[str, AccountRow]


def test_every_answer_has_the_security_headers(client: TestClient) -> None:
    for path in ("/favicon.ico", "/nowhere", "/try-fail", "/try-large", "/try/me"):
        headers = client.get(path).headers
        policy = headers["content-security-policy"]
        assert policy.startswith("default-src 'none'"), path
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        is_page = headers.get("content-type", "").startswith("text/html")
        assert headers["referrer-policy"] == ("same-origin" if is_page else "no-referrer")
        assert headers["cache-control"] == "no-store"
        assert "strict-transport-security" not in headers
        assert "server" not in headers


def test_https_is_asked_for_when_served_over_it(sqlite_engine: Engine) -> None:
    settings = Settings(base_url="https://testserver", secure_cookies=True)
    with TestClient(create_app(settings, sqlite_engine)) as client:
        header = client.get("/favicon.ico").headers["strict-transport-security"]
    assert header == "max-age=31536000; includeSubDomains"


def test_large_pages_are_compressed(client: TestClient) -> None:
    assert client.get("/try-large").headers["content-encoding"] == "gzip"


@pytest.mark.parametrize("path", ["/docs", "/redoc", "/openapi.json", "/nowhere"])
def test_there_is_nothing_at_other_addresses(path: str, client: TestClient) -> None:
    answer = client.get(path)
    assert answer.status_code == 404
    assert "There is nothing here for you to see" in answer.text


def test_a_wrong_method_is_refused(client: TestClient) -> None:
    answer = client.post("/try-large")
    assert (answer.status_code, answer.headers["allow"]) == (405, "GET")


@pytest.mark.parametrize(
    ("path", "status"),
    [("/try-fail", 500), ("/try-busy", 503), ("/try-throttled", 429), ("/try-old", 409)],
)
def test_an_error_answers_in_plain_words_without_internals(
    path: str, status: int, client: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    answer = client.get(path)
    assert answer.status_code == status
    assert "secret-detail" not in answer.text
    assert "Traceback" not in answer.text
    assert "secret-detail" not in caplog.text
    assert "Nothing was saved" in answer.text or status == 429


def test_without_a_login_pages_lead_to_the_sign_in(client: TestClient) -> None:
    answer = client.get("/try/home/view?search=word")
    assert answer.status_code == 303
    assert answer.headers["location"] == "/sign-in?next=/try/home/view"
    assert client.post("/try/home/write").headers["location"] == "/sign-in"


def test_a_login_opens_its_own_household_only(
    client: TestClient, db: Session, people: People
) -> None:
    enter(client, db, people["cara"])
    assert client.get("/try/me").json() == "cara"
    assert client.get("/try/home/view").json() == "Household of the tests 2026-03-11 14:00:00"
    for path in ("/try/other/view", "/try/nowhere/view", "/try/agency/ours"):
        assert client.get(path).status_code == 404, path


def test_a_coordinator_opens_the_agency_and_its_households(
    client: TestClient, db: Session, people: People
) -> None:
    enter(client, db, people["cody"])
    assert client.get("/try/agency/ours").json() == "Ours"
    assert client.get("/try/home/view").status_code == 200
    assert client.get("/try/agency/theirs").status_code == 404


def test_an_unknown_cookie_is_no_login(client: TestClient, people: People) -> None:
    client.cookies.set(SETTINGS.cookie_name, "guess")
    assert client.get("/try/me").status_code == 303


def test_a_form_needs_the_hidden_value_of_its_browser(
    client: TestClient, db: Session, people: People
) -> None:
    secret = enter(client, db, people["cara"])
    good = {"word": "hello", "form_token": form_token(secret)}
    assert client.post("/try/home/write", data=good).json() == "hello"
    for bad in ("", "x", form_token("other browser")):
        answer = client.post("/try/home/write", data=good | {"form_token": bad})
        assert answer.status_code == 403
    assert client.post("/try/home/write", data={"word": "hello"}).status_code == 403


def test_a_viewer_s_form_is_not_found(client: TestClient, db: Session, people: People) -> None:
    secret = enter(client, db, people["vic"])
    form = {"word": "hello", "form_token": form_token(secret)}
    assert client.post("/try/home/write", data=form).status_code == 404


@pytest.mark.parametrize(
    ("headers", "status"),
    [
        ({}, 200),
        ({"Origin": "http://testserver"}, 200),
        ({"Origin": "https://evil.example"}, 403),
        ({"Sec-Fetch-Site": "cross-site"}, 403),
        ({"Sec-Fetch-Site": "same-origin"}, 200),
    ],
)
def test_a_form_from_another_site_is_refused(
    headers: dict[str, str], status: int, client: TestClient
) -> None:
    assert client.post("/try-open", headers=headers).status_code == status


def test_a_very_large_form_is_refused(client: TestClient) -> None:
    assert client.post("/try-open", content=b"x" * LARGEST_FORM_BYTES).status_code == 200
    assert client.post("/try-open", content=b"x" * (LARGEST_FORM_BYTES + 1)).status_code == 413
    assert client.post("/try-open", content=iter([b"x"])).status_code == 411


def test_the_log_names_routes_and_never_addresses(
    client: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.INFO, logger="ebbstock.requests")
    client.get("/calendar/very-secret-word.ics")
    client.get("/try/home/view?name=private-name")
    client.get("/nowhere/private-name")
    lines = [record.getMessage() for record in caplog.records if "ebbstock" in record.name]
    assert [line.rsplit(" ", 2)[0] for line in lines] == [
        "GET /calendar/{secret}.ics 404",
        "GET /try/{household}/view 303",
        "GET (no route) 404",
    ]
    assert not any("secret-word" in line or "private-name" in line for line in lines)


def test_the_log_of_a_failure_says_where_it_arose(
    client: TestClient, caplog: pytest.LogCaptureFixture
) -> None:
    client.get("/try-fail")
    assert "unexpected RuntimeError" in caplog.text
    assert ", in failing" in caplog.text
