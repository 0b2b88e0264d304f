"""Plain texts in templates, in another language.

Templates are written in plain English. When one is loaded for another language, each run of
text in it is looked up in that language's catalogue and replaced, so that a page in English
costs nothing for it and templates stay readable.

A run is text between tags that are not inline and between statements of the template. In a key,
expressions become {1}, {2} ..., and inline tags <1> ... </1>; white space is joined. Beside
runs, these are looked up: the attributes in `ATTRIBUTES`, and quoted texts in expressions that
begin with a capital letter or hold a space.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass

ATTRIBUTES = ("aria-label", "placeholder", "data-head", "alt")
INLINE = ("a", "b", "strong", "em", "span", "small")

Lookup = Callable[[str], str]

_TOKEN = re.compile(
    r"(?P<comment>\{#.*?#\})|(?P<statement>\{%.*?%\})|(?P<value>\{\{.*?\}\})"
    r"|(?P<tag></?[a-zA-Z!](?:\{\{.*?\}\}|\{%.*?%\}|\"(?:\{\{.*?\}\}|\{%.*?%\}|[^\"])*\"|[^>\"{])*>)"
    r"|(?P<text>[^{<]+|.)",
    re.DOTALL,
)
_ATTRIBUTE = re.compile(
    rf"(?<=\s)(?P<name>{'|'.join(ATTRIBUTES)})=\"(?P<text>(?:\{{\{{.*?\}}\}}|[^\"])*)\"", re.DOTALL
)
_VALUE = re.compile(r"\{\{.*?\}\}", re.DOTALL)
_QUOTED = re.compile(r'"([^"\\]*)"')
_PLACE = re.compile(r"\{(\d+)\}|<(/?)(\d+)>")
_TAG_NAME = re.compile(r"</?([a-zA-Z0-9]+)")
_LETTERS = re.compile(r"[^\W\d_]{2}")


@dataclass(frozen=True, slots=True)
class _Token:
    kind: str
    text: str

    @property
    def tag(self) -> str:
        found = _TAG_NAME.match(self.text) if self.kind == "tag" else None
        return found[1].lower() if found else ""

    @property
    def may_be_in_a_run(self) -> bool:
        return self.kind in ("text", "value") or self.tag in INLINE


def translate(source: str, lookup: Lookup) -> str:
    """A template in another language.

    Args:
        source: the template as it is written.
        lookup: the text for a key; the key itself where there is none.
    """
    found = (_Token(str(one.lastgroup), one[0]) for one in _TOKEN.finditer(source))
    out, run, in_sheet = [], list[_Token](), False
    for token in found:
        if token.tag in ("style", "script"):
            in_sheet = not token.text.startswith("</")
        if token.may_be_in_a_run and not in_sheet:
            run.append(_with_attributes(token, lookup))
            continue
        out += [_translated(run, lookup), _with_attributes(token, lookup).text]
        run = []
    return "".join([*out, _translated(run, lookup)])


def keys_of(source: str) -> tuple[str, ...]:
    """Every text of a template that wants a translation, in order."""
    keys: list[str] = []

    def note(key: str) -> str:
        keys.append(key)
        return key

    translate(source, note)
    return tuple(dict.fromkeys(keys))


def _with_attributes(token: _Token, lookup: Lookup) -> _Token:
    """Attributes and quoted texts inside one token, looked up."""
    if token.kind == "value":
        return _Token(token.kind, _quoted(token.text, lookup))
    if token.kind != "tag":
        return token

    def attribute(found: re.Match[str]) -> str:
        values = _VALUE.findall(found["text"])
        key = _joined(found["text"], values)
        if not _LETTERS.search(_PLACE.sub("", key)):
            return found[0]
        text = _filled(lookup(key), values, {})
        return f'{found["name"]}="{text}"'

    return _Token(token.kind, _ATTRIBUTE.sub(attribute, token.text))


def _quoted(value: str, lookup: Lookup) -> str:
    def text(found: re.Match[str]) -> str:
        key = found[1]
        wanted = _LETTERS.search(key) and (key.strip()[0].isupper() or " " in key)
        return f'"{lookup(key)}"' if wanted else found[0]

    return _QUOTED.sub(text, value)


def _joined(text: str, values: list[str]) -> str:
    for n, value in enumerate(values, 1):
        text = text.replace(value, f"{{{n}}}", 1)
    return " ".join(text.split())


def _translated(run: list[_Token], lookup: Lookup) -> str:
    """A run in the other language; white space and outer tags around it stay."""
    first, last = 0, len(run)
    while first < last and _may_go(run[first], run[first:last], at_start=True):
        first += 1
    while last > first and _may_go(run[last - 1], run[first:last], at_start=False):
        last -= 1
    inner = run[first:last]
    if not any(token.kind == "text" and _LETTERS.search(token.text) for token in inner):
        return "".join(token.text for token in run)
    key, values, tags = _key(inner)
    # Part of a tag that a macro writes, or the product's name, is no text.
    if '="' in key or "}-hint" in key or "}-fault" in key or key.strip("– ") == "Ebbstock":
        return "".join(token.text for token in run)
    before = "".join(token.text for token in run[:first])
    after = "".join(token.text for token in run[last:])
    raw = "".join(token.text for token in inner)
    lead = raw[: len(raw) - len(raw.lstrip())]
    tail = raw[len(raw.rstrip()) :]
    return f"{before}{lead}{_filled(lookup(key), values, tags)}{tail}{after}"


def _may_go(token: _Token, rest: list[_Token], *, at_start: bool) -> bool:
    """Whether a run's end need not be translated: white space, or a tag around all of it."""
    if token.kind == "text":
        return not token.text.strip()
    if token.kind == "value":
        return False
    opened = sum(1 if not one.text.startswith("</") else -1 for one in rest if one.kind == "tag")
    if at_start:
        return token.text.startswith("</") or opened > 0 or _wraps(rest)
    return not token.text.startswith("</") or opened < 0


def _wraps(rest: list[_Token]) -> bool:
    """Whether the first tag is closed by the very last token that is not white space."""
    depth = 0
    seen = [one for one in rest if one.kind != "text" or one.text.strip()]
    for n, one in enumerate(seen):
        if one.kind == "tag":
            depth += -1 if one.text.startswith("</") else 1
            if depth == 0:
                return n == len(seen) - 1
    return False


def _key(inner: list[_Token]) -> tuple[str, list[str], dict[str, str]]:
    values: list[str] = []
    tags: dict[str, str] = {}
    open_tags: list[int] = []
    count = 0
    parts = []
    for token in inner:
        if token.kind == "value":
            values.append(token.text)
            parts.append(f"{{{len(values)}}}")
        elif token.kind == "tag":
            if token.text.startswith("</"):
                name = f"</{open_tags.pop() if open_tags else 0}>"
            else:
                count += 1
                open_tags.append(count)
                name = f"<{count}>"
            tags[name] = token.text
            parts.append(name)
        else:
            parts.append(token.text)
    return " ".join("".join(parts).split()), values, tags


def _filled(text: str, values: list[str], tags: dict[str, str]) -> str:
    def place(found: re.Match[str]) -> str:
        if found[1]:
            return values[int(found[1]) - 1]
        return tags[found[0]]

    return _PLACE.sub(place, text)


def check_places(key: str, text: str) -> bool:
    """Whether a translation has the places and tags of its key, each as often."""
    return sorted(_places(key)) == sorted(_places(text))


def _places(text: str) -> Iterator[str]:
    return (found[0] for found in _PLACE.finditer(text))
