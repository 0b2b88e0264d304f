"""German: every sentence of the pages, by code or by the English text it stands for.

Readers are addressed as "Sie". As in English, nothing here may ever suggest draining more,
less, or on other days.
"""

from __future__ import annotations

from app.german.pages import PAGES
from app.german.pages_more import PAGES_MORE
from app.german.people import PEOPLE
from app.german.plans import PLANS
from app.german.settings import SETTINGS
from app.german.terms import TERMS
from app.german.what_if import WHAT_IF
from app.german.words import FAULTS, WORDS

GERMAN_MESSAGES = PLANS | SETTINGS | WHAT_IF
GERMAN_TEXTS = PAGES | PAGES_MORE | PEOPLE | TERMS | WORDS
GERMAN_FAULTS = FAULTS
