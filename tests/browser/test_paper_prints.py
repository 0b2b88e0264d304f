"""Pages printed to PDF: page count, what stands there, and what must not.

References:
    Paper sizes: ISO 216 (A4, 210 x 297 mm) and ANSI/ASME Y14.1 (A, US Letter, 8.5 x 11 in), from
    memory.
"""

from __future__ import annotations

import io

import pytest
from playwright.sync_api import Browser, Page
from pypdf import PdfReader

from app.wording import STANDING_CAUTION
from tests.browser.conftest import SignIn
from tests.browser.looks import SPACE_TEXT_OUT, axe_finds, does_not_fit

pytestmark = pytest.mark.browser

SIZES = {"A4": (595, 842), "Letter": (612, 792)}
"""Width and height in points of 1/72 in."""
ONLY_ON_SCREEN = ("Sign out", "Overview", "All papers", "Show these days", "Ask again")


def printed(page: Page, size: str) -> list[str]:
    """The text of each page of paper; every page has the right size."""
    reader = PdfReader(io.BytesIO(page.pdf(format=size, prefer_css_page_size=False)))
    for sheet in reader.pages:
        box = (round(float(sheet.mediabox.width)), round(float(sheet.mediabox.height)))
        assert box == pytest.approx(SIZES[size], abs=1)
    texts = [" ".join(sheet.extract_text().split()) for sheet in reader.pages]
    assert STANDING_CAUTION in texts[-1]
    for text in texts:
        assert not [one for one in ONLY_ON_SCREEN if one in text]
    return texts


@pytest.fixture
def page(browser: Browser, sign_in: SignIn) -> Page:
    return sign_in(browser, "cara", 1280)


@pytest.mark.parametrize("size", SIZES)
def test_the_chart_holds_every_session_with_its_volume(size: str, page: Page) -> None:
    page.goto("/h/home/paper/chart")
    texts = printed(page, size)
    assert len(texts) == 1
    for said in ("Drainage chart", "Thu 12 February 2026 to Wed 11 March 2026", "Notes"):
        assert said in texts[0], texts[0]
    assert "12 sessions, 4,020 mL together" in texts[0]
    assert "Mon 9 March 09:00" in texts[0]
    assert "mL on each day" in texts[0]
    assert "1 / 1" in texts[0]


@pytest.mark.parametrize("size", SIZES)
def test_a_long_chart_repeats_its_head_and_cuts_no_row(size: str, page: Page) -> None:
    page.goto("/h/home/paper/chart")
    # Sixty rows instead of twelve: the page itself is what is looked at.
    page.evaluate("""() => { const body = document.querySelector('tbody');
      const rows = [...body.rows];
      for (let n = 0; n < 4; n++) rows.forEach(row => body.append(row.cloneNode(true))); }""")
    texts = printed(page, size)
    assert len(texts) in (2, 3)
    for n, text in enumerate(texts, 1):
        assert "Each bottle" in text
        assert f"{n} / {len(texts)}" in text
    assert sum(text.count(" March 09:00") for text in texts) == 25
    assert sum(text.count(" February 09:00") for text in texts) == 35


@pytest.mark.parametrize("size", SIZES)
def test_the_empty_chart_is_one_sheet(size: str, page: Page) -> None:
    page.goto("/h/home/paper/blank")
    texts = printed(page, size)
    assert len(texts) == 1
    assert "Date Time Bottle 1 (mL) Bottle 2 (mL) Total (mL) Why it ended Notes" in texts[0]


@pytest.mark.parametrize("size", SIZES)
def test_the_count_sheet_names_items_lots_and_dates(size: str, page: Page) -> None:
    page.goto("/h/home/paper/count")
    texts = printed(page, size)
    assert len(texts) == 1
    for said in ("Kit, half litre (kits)", "L1", "Sun 31 January 2027", "Counted", "All together"):
        assert said in texts[0], texts[0]


@pytest.mark.parametrize("size", SIZES)
def test_the_packing_list_is_one_sheet(size: str, page: Page) -> None:
    page.goto("/h/home/what-if/travel")
    page.get_by_label("First day away").fill("2026-03-16")
    page.get_by_label("First day at home again").fill("2026-03-23")
    for button in ("Show what it means", "The list alone"):
        with page.expect_navigation():
            page.get_by_role("button", name=button).click()
    texts = printed(page, size)
    assert len(texts) == 1
    for said in ("Packing list", "Mon 16 March", "Kit, half litre", "Tidewater desk (555 0100)"):
        assert said in texts[0]


@pytest.mark.parametrize("path", ["/h/home", "/h/home/sessions", "/h/home/shelf", "/h/home/order"])
def test_what_is_folded_away_on_the_screen_stands_on_paper(path: str, page: Page) -> None:
    page.goto(path)
    folded = page.locator("details").filter(has=page.locator("table")).count()
    texts = printed(page, "A4")
    assert len(texts) <= 4
    if folded and path == "/h/home":
        assert "Chance to have run out" in " ".join(texts)


def test_print_is_black_on_white_even_in_the_dark(browser: Browser, sign_in: SignIn) -> None:
    page = sign_in(browser, "cara", 1280, dark=True)
    page.goto("/h/home/paper/chart")
    page.emulate_media(media="print", color_scheme="dark")
    colours = page.evaluate("""() => ['body', 'h1', 'td', 'a', 'th'].map(name => {
      const look = getComputedStyle(document.querySelector(name));
      return [look.color, look.backgroundColor]; })""")
    assert {ink for ink, _ in colours} == {"rgb(0, 0, 0)"}
    assert {paper for _, paper in colours} <= {"rgb(255, 255, 255)", "rgba(0, 0, 0, 0)"}


@pytest.mark.parametrize("path", ["chart", "blank", "count"])
def test_papers_fit_a_phone_as_well(
    path: str, browser: Browser, sign_in: SignIn, axe_source: str
) -> None:
    page = sign_in(browser, "cara", 320)
    page.goto(f"/h/home/paper/{path}")
    assert does_not_fit(page) == []
    assert axe_finds(page, axe_source) == []
    page.evaluate(SPACE_TEXT_OUT)
    assert does_not_fit(page) == []


@pytest.mark.parametrize("path", ["chart", "blank", "count"])
def test_papers_fit_with_text_at_200_percent(
    path: str, large_text_browser: Browser, sign_in: SignIn
) -> None:
    for width in (360, 1280):
        page = sign_in(large_text_browser, "cara", width)
        page.goto(f"/h/home/paper/{path}")
        assert does_not_fit(page) == []
