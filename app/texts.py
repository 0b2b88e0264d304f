"""Plain English texts of pages in the language of whoever looks: `tr("Save")`.

Sentences about plans have codes and stand in `app.messages`; what templates and forms say is
looked up by its English text. A text without a translation stays English.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache

from app import display
from app.german import GERMAN_FAULTS, GERMAN_TEXTS

TEXTS: dict[str, Mapping[str, str]] = {"de": GERMAN_TEXTS}
FAULTS: dict[str, Mapping[str, str]] = {"de": GERMAN_FAULTS}
"""By language, what is wrong with an entry. The planner words it with figures of its own, so the
English side is a pattern whose names in braces stand for any text."""

_OUR_OWN = ("wanted",)
"""Names that stand for words of the program's own; what people wrote is never looked up."""

_NAME = re.compile(r"\\\{(\w+)\\\}")


def tr(text: str, **facts: object) -> str:
    """A text in the reader's language, with its names in braces filled in."""
    found = TEXTS.get(display.current().language, {}).get(text, text)
    return found.format(**facts) if facts else found


def tr_fault(text: str) -> str:
    """What is wrong with an entry, or how to put it right, in the reader's language."""
    language = display.current().language
    for pattern, wanted in _patterns(language):
        found = pattern.fullmatch(text)
        if found:
            parts = found.groupdict().items()
            return wanted.format(
                **{name: tr(part) if name in _OUR_OWN else part for name, part in parts}
            )
    return tr(text)


@cache
def _patterns(language: str) -> tuple[tuple[re.Pattern[str], str], ...]:
    """The patterns, those with the most words of their own first."""
    known = [(re.escape(english), wanted) for english, wanted in FAULTS.get(language, {}).items()]
    known.sort(key=lambda one: len(_NAME.sub("", one[0])), reverse=True)
    return tuple(
        (re.compile(_NAME.sub(r"(?P<\1>.+?)", english), re.DOTALL), wanted)
        for english, wanted in known
    )
