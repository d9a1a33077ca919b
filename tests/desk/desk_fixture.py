"""A desk that runs by itself, and tabs of a real browser on it."""

import os
import re
import signal
import subprocess
import sys
import time

import pytest

PATIENCE = 60_000  #: ms: other work may be going on
ADDRESS = re.compile(r"http://127\.0\.0\.1:(\d+)/\?token=\S+")


class Running:
    """A desk as its own process on a case file."""

    def __init__(self, case, *options):
        self.case = case
        self.said = case.parent / "said.txt"
        with self.said.open("wb") as said:
            self.process = subprocess.Popen([sys.executable, "-m", "lostneutral", "desk", str(case), "--no-browser", *options],
                                            stdout=said, stderr=said, cwd=case.parent)
        self.address = self.port = None
        for _ in range(600):
            found = ADDRESS.search(self.said.read_text("utf-8"))
            if found:
                self.address, self.port = found[0], int(found[1])
                return
            if self.process.poll() is not None:
                break
            time.sleep(0.1)
        raise AssertionError(self.said.read_text("utf-8"))

    def send(self, number):
        os.kill(self.process.pid, number)

    def stop(self, number=signal.SIGINT):
        if self.process.poll() is None:
            self.send(number)
            self.process.wait(20)
        return self.process.returncode


@pytest.fixture
def desk(tmp_path):
    """Return a function that starts a desk on a case with a text: (text or None, name) -> Running."""
    pytest.importorskip("nicegui", reason="no desk: pip install -e '.[test,browser,desk]'")
    started = []

    def start(text=None, name="case.toml"):
        file = tmp_path / name
        if text is not None:
            file.write_text(text, "utf-8")
        started.append(Running(file))
        return started[-1]

    yield start
    for running in started:
        running.stop(signal.SIGKILL)


@pytest.fixture
def tab(browser):
    """Return a function that opens a desk in a tab: (Running, **context) -> page. Faults of scripts fail the test."""
    wrong, opened = [], []

    def go(running, context=None, **more):
        own = context or browser.new_context(accept_downloads=True, **({"viewport": {"width": 1300, "height": 1000}} | more))
        page = own.new_page()
        page.set_default_timeout(PATIENCE)
        opened.append(page)
        page.on("pageerror", lambda error: wrong.append(f"script: {error}"))
        page.on("request", lambda asked: None if asked.url.startswith((
            "data:", "blob:", f"http://127.0.0.1:{running.port}/", f"ws://127.0.0.1:{running.port}/")) else wrong.append(asked.url))
        page.goto(running.address)
        page.locator("#h-answer").wait_for()
        return page

    yield go
    for page in opened:
        page.context.close()
    assert wrong == []


def show(page, part):
    """Show a part of the desk."""
    page.get_by_role("navigation").get_by_role("button", name=part).click()


def add(page, written):
    """Type an item with the keyboard alone and enter it."""
    form = page.get_by_role("form", name="Add an item")
    for label, text in (("What is it", written.what), ("Name on your list", written.name), ("Plate", written.power),
                        ("How many", written.count)):
        form.get_by_label(label).fill(text)
    for label, choice in (("Board", written.point), ("Line", written.connect), ("Switch", written.on or "on"),
                          ("Seen afterwards", written.fate)):
        form.get_by_label(label).select_option(choice)
    form.get_by_label("What is it").press("Enter")
    page.get_by_role("button", name=f"Change {written.name}", exact=True).wait_for()


def change(page, item, **fields):
    """Change fields of an item in its editor."""
    page.get_by_role("button", name=f"Change {item}", exact=True).click()
    dialog = page.get_by_role("dialog")
    for label, text in fields.items():
        set_field(dialog, label.replace("_", " "), text)
    dialog.get_by_role("button", name="Done", exact=True).click()
    dialog.wait_for(state="detached")


def set_field(place, label, text):
    """Set the first field whose label begins with `label`: typed, or chosen where it is a list."""
    field = place.locator("input, textarea, select").and_(place.get_by_label(re.compile(rf"^{re.escape(label)}"))).first
    field.wait_for(state="visible")
    if field.evaluate("e => e.tagName") == "SELECT":
        field.select_option(text)
    else:
        field.fill(text)


def save(page):
    """Save, and wait until the case file holds it."""
    page.get_by_role("button", name="Save to the case file").click()
    page.get_by_text(re.compile(r"\.toml: saved")).wait_for()
