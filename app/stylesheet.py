"""The one style sheet, which stands in every page, so that the page paints in one round trip.

It is small, and a page that needs nothing else to paint is there sooner on a slow line than one
that has to fetch its sheet first. The page's policy allows this very text and no other.
"""

from __future__ import annotations

import base64
import hashlib
import re

from app.settings import STATIC

_COMMENT = re.compile(r"/\*.*?\*/", re.DOTALL)
_SPACE = re.compile(r"\s+")


def _shortened(sheet: str) -> str:
    """The same rules without comments and needless white space."""
    return _SPACE.sub(" ", _COMMENT.sub("", sheet)).strip()


STYLES = _shortened((STATIC / "ebbstock.css").read_text(encoding="utf-8"))

STYLES_HASH = f"sha256-{base64.b64encode(hashlib.sha256(STYLES.encode()).digest()).decode()}"
"""What a Content-Security-Policy calls it (W3C CSP Level 3, section 2.3.1, hash-source)."""
