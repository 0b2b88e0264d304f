"""German: every sentence of the pages, by code or by the English text it stands for.

Readers are addressed as "Sie". As in English, nothing here may ever suggest draining more,
less, or on other days.
"""

from __future__ import annotations

from app.german.codes import CODE_FAULTS, FILE_FAULTS, FILE_WORDS
from app.german.faults import FAULTS
from app.german.labels import LABELS
from app.german.pages import PAGES
from app.german.pages_more import PAGES_MORE
from app.german.people import PEOPLE
from app.german.plans import PLANS
from app.german.settings import SETTINGS
from app.german.terms import TERMS
from app.german.what_if import WHAT_IF
from app.german.words import WORDS

GERMAN_MESSAGES = PLANS | SETTINGS | WHAT_IF
GERMAN_TEXTS = PAGES | PAGES_MORE | PEOPLE | TERMS | WORDS | LABELS | FILE_WORDS
GERMAN_FAULTS = FAULTS | CODE_FAULTS | FILE_FAULTS
