"""A real browser for the tests of the page, one for all of them; without one they are left out, and the run says so."""

import os
import shutil

import pytest

NAMES = ("chromium", "chromium-browser")


def found():
    """Return the path of a browser to test with, or None: by LOSTNEUTRAL_BROWSER, else Chromium on the path."""
    named = os.environ.get("LOSTNEUTRAL_BROWSER")
    return named or next((path for name in NAMES if (path := shutil.which(name))), None)


@pytest.fixture(scope="session")
def browser():
    driver = pytest.importorskip("playwright.sync_api", reason="no browser driver: pip install -e '.[test,browser]'")
    path = found()
    if path is None:
        pytest.skip("no browser: apt-get install chromium, or name one in LOSTNEUTRAL_BROWSER")
    with driver.sync_playwright() as started:
        opened = started.chromium.launch(executable_path=path)
        yield opened
        opened.close()


@pytest.fixture
def visit(browser, tmp_path):
    """Return a function that opens a page's HTML from a file: (html, **context) -> the browser's page.

    A fault of a script, or a request for anything but that file, fails the test.
    """
    wrong, opened = [], []

    def go(html, fragment="", **context):
        place = tmp_path / f"page-{len(opened)}.html"
        place.write_text(html, encoding="utf-8")
        page = browser.new_context(**context).new_page()
        opened.append(page)
        page.on("pageerror", lambda error: wrong.append(f"script: {error}"))
        page.on("console", lambda said: wrong.append(f"console: {said.text}") if said.type == "error" else None)
        page.on("request", lambda asked: None if asked.url.startswith(("data:", place.as_uri())) else wrong.append(asked.url))
        page.goto(place.as_uri() + fragment)
        return page

    yield go
    for page in opened:
        page.context.close()
    assert wrong == []
