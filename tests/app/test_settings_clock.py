"""Settings from the environment, and the one clock."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest

from app import clock, settings
from app.settings import BadSetting, Settings, read_settings


def test_without_variables_the_defaults_hold() -> None:
    assert read_settings({}) == Settings()


def test_every_variable_is_read() -> None:
    found = read_settings(
        {
            "EBBSTOCK_DATABASE_URL": "postgresql://db/ebbstock",
            "EBBSTOCK_BASE_URL": "https://supplies.example/",
            "EBBSTOCK_HOST": "0.0.0.0",
            "EBBSTOCK_PORT": "9000",
        }
    )
    assert found == Settings(
        database_url="postgresql://db/ebbstock",
        base_url="https://supplies.example",
        secure_cookies=True,
        host="0.0.0.0",
        port=9000,
    )
    assert found.cookie_name == "__Host-ebbstock"


def test_the_base_address_follows_host_and_port() -> None:
    found = read_settings({"EBBSTOCK_HOST": "0.0.0.0", "EBBSTOCK_PORT": "81"})
    assert found.base_url == "http://127.0.0.1:81"


@pytest.mark.parametrize(
    ("name", "value", "sentence"),
    [
        (
            "EBBSTOCK_DATABASE_URL",
            "my password",
            (
                "EBBSTOCK_DATABASE_URL cannot be read: write an address like "
                "sqlite:///.data/ebbstock.db or postgresql://user@host/name."
            ),
        ),
        (
            "EBBSTOCK_DATABASE_URL",
            "mysql://db/ebbstock",
            (
                "EBBSTOCK_DATABASE_URL names mysql: write an address like "
                "sqlite:///.data/ebbstock.db or postgresql://user@host/name."
            ),
        ),
        ("EBBSTOCK_PORT", "eighty", "EBBSTOCK_PORT is eighty: give a number from 1 to 65535."),
        ("EBBSTOCK_PORT", "0", "EBBSTOCK_PORT is 0: give a number from 1 to 65535."),
        ("EBBSTOCK_PORT", "", "EBBSTOCK_PORT is empty: give a number from 1 to 65535."),
        (
            "EBBSTOCK_BASE_URL",
            "supplies",
            "EBBSTOCK_BASE_URL is supplies: begin it with http:// or https://.",
        ),
        (
            "EBBSTOCK_SECURE_COOKIES",
            "maybe",
            "EBBSTOCK_SECURE_COOKIES is maybe: write 1 for yes or 0 for no.",
        ),
    ],
)
def test_a_bad_setting_is_named(name: str, value: str, sentence: str) -> None:
    with pytest.raises(BadSetting) as refusal:
        read_settings({name: value})
    assert str(refusal.value) == sentence


def test_without_its_driver_postgresql_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(settings, "find_spec", lambda name: None)
    with pytest.raises(BadSetting, match="install the extra `postgres` for it"):
        read_settings({"EBBSTOCK_DATABASE_URL": "postgresql://db/ebbstock"})


def test_the_clock_can_be_frozen(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EBBSTOCK_NOW", "2026-03-11T23:30:00-05:00")
    assert clock.utc_now() == datetime(2026, 3, 12, 4, 30, tzinfo=UTC)
    monkeypatch.setenv("EBBSTOCK_NOW", "2026-03-12T04:30:00")
    assert clock.utc_now() == datetime(2026, 3, 12, 4, 30, tzinfo=UTC)


def test_the_day_depends_on_the_time_zone(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("EBBSTOCK_NOW", "2026-03-12T04:30:00Z")
    assert clock.today_in("America/New_York") == date(2026, 3, 12)
    assert clock.today_in("America/Los_Angeles") == date(2026, 3, 11)
    assert clock.now_in("Asia/Kathmandu") == datetime(2026, 3, 12, 10, 15)


def test_the_clock_runs(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("EBBSTOCK_NOW", raising=False)
    assert clock.utc_now().tzinfo is UTC
    assert clock.seconds() <= clock.seconds()
