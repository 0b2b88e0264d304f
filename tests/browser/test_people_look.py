"""Letting somebody in, an account and a household's data in a browser, faults included."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page

from tests.browser.conftest import PASSWORD, SignIn
from tests.browser.looks import axe_finds, does_not_fit

pytestmark = pytest.mark.browser


def press(page: Page, name: str) -> None:
    with page.expect_navigation():
        page.get_by_role("button", name=name, exact=True).click()


@pytest.mark.parametrize("width", [360, 1280])
def test_pages_with_faults_have_none_of_their_own(
    width: int, browser: Browser, sign_in: SignIn, axe_source: str, tmp_path: Path
) -> None:
    page = sign_in(browser, "cara", width)
    bad = tmp_path / "bad.toml"
    bad.write_text("format = 1\nas_of = \n")
    found: list[str] = []

    def look(where: str) -> None:
        found.extend(f"{where}: {one}" for one in axe_finds(page, axe_source))
        found.extend(f"{where}: {one}" for one in does_not_fit(page))

    page.goto("/h/home/people")
    page.get_by_label("Whom is it for?").fill("n" * 70)
    press(page, "Make an invite")
    look("people")
    page.goto("/account")
    page.get_by_label("What the others call you").fill("")
    press(page, "Save the name")
    look("name")
    page.get_by_label("The new password").fill("short")
    press(page, "Change the password")
    look("password")
    page.goto("/import")
    page.get_by_label("The file").set_input_files(bad)
    press(page, "Read it in")
    assert "line 2" in page.get_by_role("alert").inner_text()
    look("import")
    page.goto("/h/home/delete")
    press(page, "Delete it for good")
    assert page.get_by_role("alert").is_visible()
    look("delete")
    assert found == []


def test_somebody_is_let_in_by_a_link_without_scripts(browser: Browser, sign_in: SignIn) -> None:
    carer = sign_in(browser, "cara", 360, scripts=False)
    carer.goto("/h/home/people")
    carer.get_by_label("Viewer: may look, but not change anything").check()
    press(carer, "Make an invite")
    link = carer.locator(".address").inner_text()
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/join/[\w-]{43}", link)
    context = browser.new_context(java_script_enabled=False, viewport={"width": 360, "height": 800})
    guest = context.new_page()
    guest.goto(link)
    guest.get_by_label("Your name").fill("Nora")
    guest.get_by_label("E-mail address").fill("nora@test.example")
    guest.get_by_label("Password").fill(PASSWORD)
    press(guest, "Make my account")
    assert guest.get_by_role("heading", level=1).inner_text().startswith("Supplies for")
    assert guest.get_by_role("link", name="Record a session").count() == 0
    guest.get_by_role("link", name="Your account: Nora").click()
    assert "Household of the tests: Viewer" in guest.get_by_role("main").inner_text()
    press(guest, "Sign out everywhere")
    assert guest.get_by_role("heading", level=1).inner_text() == "Sign in"
    context.close()


def test_the_saved_file_is_downloaded_and_read_in_again(
    browser: Browser, sign_in: SignIn, tmp_path: Path
) -> None:
    page = sign_in(browser, "pat", 360, scripts=False)
    page.goto("/h/home/data")
    with page.expect_download() as saving:
        page.get_by_role("link", name="Save the file").click()
    copy = tmp_path / saving.value.suggested_filename
    saving.value.save_as(copy)
    assert re.fullmatch(r"supplies-\d{4}-\d\d-\d\d\.toml", copy.name)
    page.goto("/import")
    page.get_by_label("The file").set_input_files(copy)
    press(page, "Read it in")
    assert "The file is read in." in page.get_by_role("status").inner_text()
    assert page.get_by_role("link", name="Go to another household").is_visible()
