"""A page that runs anywhere: one self-contained HTML file in which a case can be changed and watched.

Python puts the case, curves of its loads, limits, outcomes and cautions into it (`content`); the scripts beside this
file solve the wiring between the curves and draw. Nothing is fetched and nothing is written.
"""

import base64
import hashlib
import json
from importlib import resources
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from lostneutral.case.model import Case
    from lostneutral.result import Result

SCRIPTS = ("curves.js", "circuit.js", "course.js", "states.js", "setting.js", "words.js", "star.js", "items.js",
           "joint.js", "clock.js", "fixed.js", "page.js", "tell.js")
STYLES = ("page.css", "parts.css")


def check_page(case: "Case", waveforms: bool = False) -> None:
    """Raise UsageError where no page can show `case`, before anything is worked out for it; `waveforms` as in `analyse`.

    Where waveforms may decide only these can tell, and `page_html` says it.
    """
    from lostneutral.circuit.waveform.parts import matters
    from lostneutral.page.content import shown_as

    shown_as(case, waveforms or matters(case.at_the_end()))


def page_html(result: "Result", *, for_class: bool = False, colours: str | None = None) -> str:
    """Return the page of `result` as one HTML document.

    `for_class`: it begins with the neutral sound and the readings hidden. `colours`: the country whose conductor colours
    the lines have (see `consequences.colours`); default: the page's own. UsageError where `result` has more different
    loads than a page can show. Range: 24 different items; its voltages are within 0.1 V of those of `analyse`.

    >>> from lostneutral import analyse, page_html, read_case
    >>> page_html(analyse(read_case("casebook/three-unequal-lamps.toml")))[:15]
    '<!DOCTYPE html>'
    """
    from lostneutral.page.content import content

    held = json.dumps(content(result, for_class, colours), ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    # Inside a script element only "<" could end it; the two line separators are no line breaks in JSON.
    held = held.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")
    script = "\n".join(['"use strict";', "(() => {", *map(_source, SCRIPTS), "})();"])
    style = "\n".join(map(_source, STYLES))
    filled = {"policy": f"default-src 'none'; script-src '{_digest(script)}'; style-src '{_digest(style)}'; img-src data:; "
                        "base-uri 'none'; form-action 'none'", "style": style, "content": held, "script": script}
    parts = _source("page.html").split("@@")
    return "".join(filled[part] if at % 2 else part for at, part in enumerate(parts))


def _source(name):
    return resources.files(__name__).joinpath(name).read_text("utf-8")


def _digest(text):
    return "sha256-" + base64.b64encode(hashlib.sha256(text.encode("utf-8")).digest()).decode("ascii")
