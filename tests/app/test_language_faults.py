"""Whatever can be wrong with an entry is said in the reader's language.

The clauses are found in the source of the program, so that a new one cannot be forgotten.
"""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator

import pytest

from app import display
from app.display import Display
from app.forms import Form, file_sentence
from app.settings import ROOT
from app.texts import FAULTS, TEXTS, tr_fault
from planner.errors import Fault

OUTSIDE = (
    "cli.py",
    "admin.py",
    "backup.py",
    "settings.py",
    "mail.py",
    "assumption_changes.py",
)
"""What only whoever runs the program reads; the command is in English."""

MADE_ELSEWHERE = (
    "the order is received, so nothing follows; undo its last step first",
    "some of the goods came already; say that the rest will not come instead",
    "an order that is placed cannot be received next; look at its history",
    "(10) breaks off: it has 14 characters, here are 3; scan it again",
    "(10) is too long: it has 14 characters, here are 30; scan it again",
    "it lies more than 60 days ago; choose a later day",
    "it lies before today, 2026-03-08; choose a later day",
    "the record has only 3 of lot L1 to take; correct the number, or count the shelf first",
    "the record has only 3 to take; correct the number, or unpack the bag first",
    "the record has only 3 of lot L1 to take; correct the number, or unpack the bag first",
    "the record has no such lot; leave it empty or choose one of these: none",
    "9 characters long",
    "3 in one file",
    "give one of chest, abdomen",
    "write one of chest, abdomen",
    "write a list of whole numbers in brackets",
    "write a list of tables, [[sessions]]",
    "there is no such field (did you mean units?)",
    "there is no such field; known: units, lot",
    "correct it at line 3, column 7 (expected a value)",
    "correct it at the end of the file (expected a value)",
    "correct it (expected a value)",
    "use one of chest, abdomen (did you mean chest?)",
    "use an IANA name such as Europe/London",
    "use an IANA name such as Europe/London (did you mean Europe/Lisbon?)",
)
PUT_TOGETHER = (
    "(7) 7: it has 7 characters, here are 7",
    "7; scan it again",
    "the record has only 77 to take; correct the number, or 7 first",
    "there is no such field7",
    "use an IANA name such as Europe/London7",
    "it lies 7; choose a later day",
)
"""Clauses whose parts are words; each way to put them together stands in `MADE_ELSEWHERE`."""

ENGLISH = re.compile(
    r"\b(?:the|and|of|you|your|are|with|this|from|not|or|to|it|is|give|choose|write|use|no|such"
    r"|only|leave|out|name|tick|days|more|than|number|order|there|must|correct|check)\b",
    re.IGNORECASE,
)


def clauses(source: str) -> Iterator[str]:
    """Every clause that a module puts into a fault, figures as 7."""
    for node in ast.walk(ast.parse(source)):
        for found in _clause_nodes(node):
            yield from _texts(found)


def _clause_nodes(node: ast.AST) -> Iterator[ast.expr]:
    if isinstance(node, ast.Assign) and [ast.unparse(one) for one in node.targets] == ["fix"]:
        yield node.value
    if not isinstance(node, ast.Call):
        return
    yield from (one.value for one in node.keywords if one.arg == "fix")
    name = ast.unparse(node.func).rpartition(".")[2]
    place = {"InvalidValue": 2, "_note": 2, "note": 2, "_whole_file": 2, "_fault": 2, "needed": 2}
    place |= {"fault": 1, "miss": 1}
    where = place.get(name)
    if where is not None and where < len(node.args):
        yield node.args[where]


def _texts(node: object) -> Iterator[str]:
    match node:
        case ast.Constant(value=str(text)):
            yield text
        case ast.IfExp(body=one, orelse=other):
            yield from (*_texts(one), *_texts(other))
        case ast.JoinedStr(values=parts):
            yield "".join(
                part.value
                if isinstance(part, ast.Constant) and isinstance(part.value, str)
                else "7"
                for part in parts
            )


def all_clauses() -> list[str]:
    found: dict[str, None] = dict.fromkeys(MADE_ELSEWHERE)
    for folder in ("app", "planner"):
        for module in sorted((ROOT / folder).rglob("*.py")):
            if module.name not in OUTSIDE:
                found |= dict.fromkeys(clauses(module.read_text(encoding="utf-8")))
    kept = (text for text in found if text not in PUT_TOGETHER)
    return [text for text in kept if re.search(r"[a-z]{3}", text)]


@pytest.fixture
def german() -> None:
    display.begin_request("de")


@pytest.fixture
def english_again() -> Iterator[None]:
    yield
    display.begin_request()


def test_every_clause_has_german(german: None, english_again: None) -> None:
    found = all_clauses()
    assert len(found) > 120
    bad = {text: tr_fault(text) for text in found if ENGLISH.search(tr_fault(text))}
    bad |= {text: text for text in found if tr_fault(text) == text}
    assert not bad, "\n" + "\n".join(f"{text!r}: {said!r}" for text, said in bad.items())


def labels_in(source: str) -> Iterator[str]:
    """What a module calls its fields: tables named so, and the short names of fields."""
    for node in ast.walk(ast.parse(source)):
        named = isinstance(node, ast.Assign) and "label" in ast.unparse(node.targets[0]).lower()
        if named or (isinstance(node, ast.keyword) and node.arg in ("labels", "short")):
            for part in ast.walk(node):
                inside = (
                    part.values if isinstance(part, ast.Dict) else [getattr(part, "value", part)]
                )
                yield from (text for one in inside for text in _texts(one))


def test_every_label_of_a_field_has_german() -> None:
    known = TEXTS["de"]
    found = {
        label: module.name
        for module in sorted((ROOT / "app").rglob("*.py"))
        if "german" not in module.parts
        for label in labels_in(module.read_text(encoding="utf-8"))
        if label[:1].isupper()
    }
    assert len(found) > 70
    missing = {label: where for label, where in found.items() if label not in known}
    assert not missing, "\n" + "\n".join(f"{where}: {text!r}" for text, where in missing.items())


def test_no_pattern_is_left_over(german: None, english_again: None) -> None:
    """A clause that the program no longer says goes from the catalogue as well."""
    known = all_clauses()
    unused = [
        pattern
        for pattern in FAULTS["de"]
        if not any(
            re.fullmatch(re.sub(r"\\\{\w+\\\}", ".+", re.escape(pattern)), text) for text in known
        )
    ]
    assert not unused, "\n".join(unused)


def test_the_most_particular_pattern_wins(german: None, english_again: None) -> None:
    assert tr_fault("give 1 to 12 boxes") == "geben Sie 1 bis 12 ein"
    assert tr_fault("give a whole number") == "geben Sie an: eine ganze Zahl"
    assert tr_fault("write Data to delete it") == "schreiben Sie Data, um ihn zu löschen"


def test_a_fault_of_a_form_and_of_a_file_in_german(german: None, english_again: None) -> None:
    fault = Fault(field="units", value="empty", fix="give a whole number of units")
    form = Form(problems=(fault,), labels={"units": "How many?"})
    assert [one.text for one in form.faults] == [
        f"{TEXTS['de']['How many?']}: leer. Geben Sie eine ganze Zahl ein."
    ]
    placed = Fault(field="ml", value="missing", fix="give a whole number", place="sessions[3]")
    assert file_sentence(placed) == "sessions[3].ml – fehlt: geben Sie an: eine ganze Zahl."
    display.show_as(Display())
    assert file_sentence(placed) == placed.sentence
