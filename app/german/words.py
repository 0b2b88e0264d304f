"""German for plain texts that stand in the program: names of pages, choices, faults."""

from __future__ import annotations

WORDS: dict[str, str] = {}

FAULTS: dict[str, str] = {}
