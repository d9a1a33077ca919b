"""The desk's own files: style, script, the star picture of the page."""

from functools import cache
from importlib import resources

ICON = ("<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 32 32'><rect width='32' height='32' fill='#0b5a5e'/>"
        "<path d='M16 18V5M16 18L5 26M16 18L27 26' stroke='#fffdf7' stroke-width='3'/><circle cx='16' cy='18' r='4' fill='#ff9d85'/></svg>")
TYPES = {"desk.css": "text/css", "desk.js": "text/javascript", "star.js": "text/javascript"}


@cache
def file(name: str) -> tuple[bytes, str] | None:
    """Return (content, type) of a file by its name, or None."""
    if name not in TYPES:
        return None
    if name == "star.js":
        from lostneutral.page.star_alone import star_script

        return star_script("lostneutralDraw").encode("utf-8"), TYPES[name]
    return resources.files("lostneutral.desk.views").joinpath(name).read_bytes(), TYPES[name]
