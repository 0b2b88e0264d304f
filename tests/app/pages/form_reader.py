"""Reads the forms of a page with everything that belongs to a field: kind, faults, description."""

from __future__ import annotations

from dataclasses import dataclass, field
from html.parser import HTMLParser

Attributes = dict[str, str]
_EMPTY = frozenset({"input", "meta", "link", "br", "hr", "img", "path", "line", "rect", "circle"})


@dataclass(kw_only=True)
class ShownField:
    """A field of a form.

    Attributes:
        kind: type of the input, "select", "textarea" or "number" for one that takes figures.
        value: what it would send; empty when it would send nothing.
        offered: values of a list or of radio buttons.
        marks: attributes of the element, of a group of radio buttons those of its fieldset.
    """

    kind: str
    value: str = ""
    offered: list[str] = field(default_factory=list)
    marks: Attributes = field(default_factory=dict)


@dataclass(kw_only=True)
class ShownForm:
    """A form with its fields by name, and its buttons that send a value."""

    action: str
    fields: dict[str, ShownField] = field(default_factory=dict)
    buttons: list[tuple[str, str]] = field(default_factory=list)

    @property
    def values(self) -> dict[str, str]:
        """What an untouched form sends."""
        sent = {}
        for name, one in self.fields.items():
            if one.value or one.kind not in ("radio", "checkbox"):
                sent[name] = one.value
        return sent


class FormPage(HTMLParser):
    """A page: forms that are sent by post, texts by id, and the elements by id."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.forms: list[ShownForm] = []
        self.texts: dict[str, str] = {}
        self.elements: dict[str, Attributes] = {}
        self._open: list[tuple[str, Attributes]] = []
        self._select: ShownField | None = None
        self._form: ShownForm | None = None
        self.feed(page)

    def form(self, action: str, path: str) -> ShownForm:
        """The form that is sent to an address.

        Raises:
            LookupError: when the page has none.
        """
        for one in self.forms:
            if (one.action or path.partition("?")[0]) == action and any(
                shown.kind != "hidden" for shown in one.fields.values()
            ):
                return one
        for one in self.forms:
            if (one.action or path.partition("?")[0]) == action:
                return one
        raise LookupError(f"{path} has no form for {action}")

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        found = {name: value or "" for name, value in attrs}
        if "id" in found:
            self.elements[found["id"]] = found | {"tag": tag}
            self.texts[found["id"]] = ""
        if tag not in _EMPTY:
            self._open.append((tag, found))
        if tag == "form":
            self._form = ShownForm(action=found.get("action", ""))
            if found.get("method") == "post":
                self.forms.append(self._form)
        if self._form is not None:
            self._read_field(tag, found)

    def handle_endtag(self, tag: str) -> None:
        while self._open and self._open.pop()[0] != tag:
            pass
        if tag == "select":
            self._select = None
        if tag == "form":
            self._form = None

    def handle_data(self, data: str) -> None:
        for _, found in self._open:
            if "id" in found:
                self.texts[found["id"]] += data

    def _read_field(self, tag: str, found: Attributes) -> None:
        assert self._form is not None
        name = found.get("name", "")
        if tag == "option" and self._select is not None:
            value = found.get("value", "")
            if "selected" in found or not self._select.offered:
                self._select.value = value
            self._select.offered.append(value)
        elif tag == "button" and name:
            self._form.buttons.append((name, found.get("value", "")))
        elif tag == "select":
            self._select = ShownField(kind="select", marks=found)
            self._form.fields[name] = self._select
        elif tag == "input" and name:
            self._read_input(name, found)

    def _read_input(self, name: str, found: Attributes) -> None:
        assert self._form is not None
        kind = found.get("type", "text")
        if "inputmode" in found:
            kind = "number"
        fields = self._form.fields
        if kind == "radio":
            group = next(one for tag, one in reversed(self._open) if tag == "fieldset")
            shown = fields.setdefault(name, ShownField(kind=kind, marks=group))
            shown.offered.append(found.get("value", ""))
        else:
            shown = fields.setdefault(name, ShownField(kind=kind, marks=found))
        if kind not in ("radio", "checkbox") or "checked" in found:
            shown.value = found.get("value", "")
