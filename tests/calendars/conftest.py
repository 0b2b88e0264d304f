"""The household and people of the application's tests."""

from tests.app.conftest import carer, frozen_clock, people, sqlite_engine

__all__ = ["carer", "frozen_clock", "people", "sqlite_engine"]
