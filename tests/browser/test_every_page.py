"""What holds on every page, for everybody: found by the routes, so that none is forgotten."""

from __future__ import annotations

import json
import subprocess
from collections import Counter
from pathlib import Path
from typing import Literal, TypedDict

import pytest
from playwright.sync_api import Browser

from tests.browser.every_page import WHO, Demo, Visit, distinct, routes
from tests.browser.looks import (
    OPEN_DETAILS,
    SPACE_AS_BEFORE,
    SPACE_TEXT_OUT,
    TEXT_SIZE,
    axe_finds,
    does_not_fit,
)
from tests.browser.opening import open_page, pages_of
from tests.suites.needs import HTML_VALIDATE


class Colours(TypedDict):
    """The colours that a reader asks for."""

    color_scheme: Literal["dark", "light"]
    forced_colors: Literal["active", "none"]


pytestmark = pytest.mark.browser

HTML_RULES = Path(__file__).parent / "html-validate.json"
COLOURS: tuple[Colours, ...] = (
    {"color_scheme": "dark", "forced_colors": "none"},
    {"color_scheme": "light", "forced_colors": "active"},
)
EVERYBODY = pytest.mark.parametrize("who", WHO)


def listed(found: list[str]) -> str:
    return "\n" + "\n".join(found)


def test_every_route_gives_a_page_to_somebody(demo: Demo, visits: list[Visit]) -> None:
    assert demo.without_a_page(visits) == []
    seen = Counter(one.who for one in visits)
    assert all(seen[who] >= 2 for who in WHO), seen


def test_a_route_without_an_example_is_named(demo: Demo) -> None:
    with pytest.raises(LookupError, match=r"/x/\{unheard_of\} has no example"):
        demo.paths("/x/{unheard_of}", "pat")
    assert "/h/{household}" in routes()


@EVERYBODY
def test_axe_finds_nothing(
    who: str, browser: Browser, demo: Demo, visits: list[Visit], axe_source: str
) -> None:
    found = []
    page = open_page(browser, demo, who)
    known_wide = set()
    for one in pages_of(who, visits):
        page.goto(one.path)
        page.evaluate(OPEN_DETAILS)
        found += [f"{one.path}: {fault}" for fault in axe_finds(page, axe_source)]
        for colours in COLOURS:
            page.emulate_media(**colours)
            faults = axe_finds(page, axe_source, only_colours=True)
            found += [f"{one.path}, {colours}: {fault}" for fault in faults]
        page.emulate_media(color_scheme="light", forced_colors="none")
        if one.route not in known_wide:
            known_wide.add(one.route)
            page.set_viewport_size({"width": 1280, "height": 900})
            found += [f"{one.path}, wide: {fault}" for fault in axe_finds(page, axe_source)]
            page.set_viewport_size({"width": 360, "height": 800})
    page.context.close()
    assert not found, listed(found)


@EVERYBODY
def test_everything_fits_with_text_spaced_out_too(
    who: str, browser: Browser, demo: Demo, visits: list[Visit]
) -> None:
    found = []
    page = open_page(browser, demo, who)
    for path in (one.path for one in pages_of(who, visits)):
        page.goto(path)
        page.evaluate(OPEN_DETAILS)
        for width in (320, 360, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            found += [f"{path} {width} px: {one}" for one in does_not_fit(page)]
            page.evaluate(SPACE_TEXT_OUT)
            found += [f"{path} {width} px, spaced: {one}" for one in does_not_fit(page)]
            page.evaluate(SPACE_AS_BEFORE)
    page.context.close()
    assert not found, listed(found)


@EVERYBODY
def test_everything_fits_with_text_at_200_percent(
    who: str, large_text_browser: Browser, demo: Demo, visits: list[Visit]
) -> None:
    found = []
    page = open_page(large_text_browser, demo, who)
    for path in (one.path for one in pages_of(who, visits)):
        page.goto(path)
        assert page.evaluate(TEXT_SIZE) == 36
        page.evaluate(OPEN_DETAILS)
        for width in (360, 1280):
            page.set_viewport_size({"width": width, "height": 800})
            found += [f"{path} {width} px: {one}" for one in does_not_fit(page)]
    page.context.close()
    assert not found, listed(found)


def test_every_page_is_valid_html(visits: list[Visit], tmp_path: Path) -> None:
    page_of = {}
    for n, one in enumerate(distinct(visits)):
        page_of[f"{n}.html"] = f"{one.path} as {one.who}"
        (tmp_path / f"{n}.html").write_text(one.html, encoding="utf-8")
    found = html_faults(tmp_path, page_of)
    assert not found, listed(found)


def html_faults(folder: Path, page_of: dict[str, str]) -> list[str]:
    command = ["node", str(HTML_VALIDATE), "--formatter", "json", "--config", str(HTML_RULES)]
    answer = folder / "answer.json"
    # Into a file: written to a pipe, a long answer would be cut off when the program ends.
    with answer.open("wb") as out:
        ran = subprocess.run([*command, str(folder / "*.html")], stdout=out, check=False)
    assert ran.returncode in (0, 1)
    return [
        f"{page_of[Path(page['filePath']).name]}, line {fault['line']}: "
        f"{fault['message']} ({fault['ruleId']})"
        for page in json.loads(answer.read_bytes())
        for fault in page["messages"]
    ]


def test_a_faulty_page_would_be_named(tmp_path: Path) -> None:
    (tmp_path / "bad.html").write_text("<!doctype html>\n<p id=a><div></p>", encoding="utf-8")
    assert len(html_faults(tmp_path, {"bad.html": "the bad page"})) >= 2
