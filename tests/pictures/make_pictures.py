"""Make the pictures of the README from the demo: `make pictures`.

The clock is frozen, so that the same program gives the same pictures.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import tempfile
import time
import urllib.error
import urllib.request
from pathlib import Path

from playwright.sync_api import Page, ViewportSize, sync_playwright

ROOT = Path(__file__).parents[2]
HERE = Path(__file__).parent
NOW = "2026-03-04T10:00:00+00:00"
PORT = 8765
BASE = f"http://127.0.0.1:{PORT}"
PHONE: ViewportSize = {"width": 390, "height": 844}
DESKTOP: ViewportSize = {"width": 1100, "height": 800}


def main() -> None:
    """Start the demo, take the pictures, stop it."""
    with tempfile.TemporaryDirectory() as folder:
        server = subprocess.Popen(
            [sys.executable, "-m", "app.cli", "demo", "--port", str(PORT)],
            cwd=ROOT,
            env=os.environ
            | {
                "EBBSTOCK_DATABASE_URL": f"sqlite:///{folder}/pictures.db",
                "EBBSTOCK_NOW": NOW,
            },
        )
        try:
            _wait()
            _take()
        finally:
            server.terminate()
            server.wait(15)


def _wait() -> None:
    for _ in range(600):
        try:
            urllib.request.urlopen(f"{BASE}/sign-in", timeout=2).close()
        except (urllib.error.URLError, TimeoutError):
            time.sleep(1)
        else:
            return
    raise RuntimeError("The demo did not start.")


def _take() -> None:
    chromium = shutil.which("chromium") or shutil.which("chromium-browser")
    with sync_playwright() as driver:
        browser = driver.chromium.launch(
            executable_path=chromium, args=["--no-sandbox", "--disable-gpu"]
        )
        phone = browser.new_page(viewport=PHONE, device_scale_factor=2)
        _sign_in(phone, "pat@demo.example")
        phone.screenshot(path=HERE / "patient-phone.png", full_page=True)
        home = phone.url
        phone.goto(f"{home}/order")
        phone.screenshot(path=HERE / "order-phone.png")
        phone.goto(f"{home}/shelf")
        phone.screenshot(path=HERE / "shelf-phone.png")
        phone.goto(f"{home}/what-if/travel")
        phone.get_by_label("First day away").fill("2026-03-16")
        phone.get_by_label("First day at home again").fill("2026-03-23")
        with phone.expect_navigation():
            phone.get_by_role("button", name="Show what it means").click()
        phone.screenshot(path=HERE / "what-if-phone.png")
        desktop = browser.new_context(viewport=DESKTOP).new_page()
        _sign_in(desktop, "cody@demo.example")
        desktop.screenshot(path=HERE / "coordinator-desktop.png")
        browser.close()


def _sign_in(page: Page, email: str) -> None:
    page.goto(f"{BASE}/sign-in")
    page.get_by_label("E-mail address").fill(email)
    page.get_by_label("Password").fill("demo-only")
    with page.expect_navigation():
        page.click("main button")


if __name__ == "__main__":
    main()
