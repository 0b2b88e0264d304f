"""Text for spreadsheets: comma-separated values that no program takes for formulas."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence

_FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "\N{FULLWIDTH EQUALS SIGN}")

Cell = str | int


def csv_text(head: Sequence[str], rows: Iterable[Sequence[Cell]]) -> str:
    """Rows under a head as comma-separated values.

    Numbers stay numbers. A text that a spreadsheet could take for a formula is led by an
    apostrophe.

    References:
        RFC 4180, Common Format and MIME Type for CSV Files; OWASP, CSV Injection (from memory).
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(head)
    for row in rows:
        writer.writerow([plain_cell(cell) if isinstance(cell, str) else cell for cell in row])
    return text.getvalue()


def plain_cell(text: str) -> str:
    """A text that a spreadsheet shows and does not work out."""
    return "'" + text if text.lstrip(" ").startswith(_FORMULA_STARTS) else text
