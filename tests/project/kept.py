"""The documents and pictures kept in `reports/`, and the commands that make them.

``python tests/project/kept.py`` makes all of them anew (a browser is needed for those of pages
for the browser). A picture carries the SHA-256 of the document that it shows, so that a test can tell an old one.
"""

import hashlib
import tempfile
from contextlib import chdir
from dataclasses import dataclass
from pathlib import Path

from click.testing import CliRunner

from lostneutral.cli import main as program

ROOT = Path(__file__).parents[2]
REPORTS = ROOT / "reports"


@dataclass(frozen=True)
class Kept:
    """A command (without `lostneutral`, the file it writes and --force) and the files of `reports/` that it makes, first its -o."""

    command: str
    files: tuple[str, ...]
    slow: bool = False


DOCUMENTS = (
    Kept("report casebook/bakery.toml", ("bakery.pdf",)),
    Kept("report casebook/farm-lane.toml --for investigator", ("farm-lane.pdf",), slow=True),
    Kept("report casebook/leaves-the-triangle.toml --for trainer", ("leaves-the-triangle.pdf",), slow=True),
    Kept("deduce casebook/village-hall.toml", ("village-hall-deduction.pdf",), slow=True),
    Kept("teach casebook/evening-class.toml --exercises 6 --seed 1",
         ("evening-class-handout.pdf", "evening-class-handout-key.pdf", "evening-class-handout.html"), slow=True),
)
PAGES = {"page-one.png": ("bakery.pdf", 0, 70), "handout.png": ("evening-class-handout.pdf", 1, 72)}
"""Pictures of pages: file -> document, page from 0, dots per inch."""
SCREEN = Kept("explore casebook/hotel-kitchen.toml", ("explore.html",))
"""The page for the browser of which `explore.png` is a picture; it is not kept itself."""


def make(kept, folder):
    """Write the files of `kept` into `folder`."""
    with chdir(ROOT):
        made = CliRunner().invoke(program, [*kept.command.split(), "-o", str(folder / kept.files[0]), "--force"])
    assert made.exit_code == 0, made.output


def checksum(path):
    """Return the SHA-256 of the file at `path`."""
    return hashlib.sha256(path.read_bytes()).hexdigest()


def shown_in(picture):
    """Return the SHA-256 of the document that the PNG `picture` says it shows; None if it does not say."""
    from PIL import Image

    with Image.open(picture) as image:
        return image.text.get("Source SHA-256")


def main():
    """Make everything in `reports/` anew."""
    import pypdfium2
    from playwright.sync_api import sync_playwright

    for kept in DOCUMENTS:
        make(kept, REPORTS)
    for name, (document, page, dots) in PAGES.items():
        _save(pypdfium2.PdfDocument(REPORTS / document)[page].render(scale=dots / 72).to_pil(), name, REPORTS / document)
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as tools:
        make(SCREEN, Path(folder))
        html = Path(folder, SCREEN.files[0])
        browser = tools.chromium.launch(executable_path="/usr/bin/chromium")
        page = browser.new_page(viewport={"width": 1280, "height": 1000})
        page.goto(html.as_uri())
        page.wait_for_timeout(1500)
        page.screenshot(path=Path(folder, "picture.png"))
        browser.close()
        from PIL import Image

        with Image.open(Path(folder, "picture.png")) as image:
            _save(image.convert("RGB"), "explore.png", html)


def _save(image, name, source):
    from PIL.PngImagePlugin import PngInfo

    said = PngInfo()
    said.add_text("Source SHA-256", checksum(source))
    image.quantize(256).save(REPORTS / name, pnginfo=said, optimize=True)


if __name__ == "__main__":
    main()
