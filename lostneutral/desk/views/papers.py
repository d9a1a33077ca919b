"""What the documents say of client and author, and the documents themselves: looked at, downloaded, all in one archive."""

from lostneutral.desk.desk import Desk
from lostneutral.desk.documents import DOCUMENTS
from lostneutral.desk.fields import field, fields
from lostneutral.desk.views.parts import Tag
from lostneutral.desk.views.start import generic


class Papers:
    """The fourth part of the desk."""

    def __init__(self, desk: Desk):
        self.desk = desk
        with Tag("section", aria_labelledby="h-papers"):
            Tag("h2", "Documents", id="h-papers")
            self.state = Tag("p", "", "small", role="status")
            with Tag("div", classes="papers"):
                for entry in DOCUMENTS:
                    with Tag("div", classes="paper"):
                        Tag("strong", entry.title)
                        Tag("span", entry.words, "small block")
                        with Tag("div", classes="tools"):
                            Tag("a", "Preview", "button", href=f"/documents/{entry.key}", target="_blank", rel="noopener",
                                aria_label=f"Preview: {entry.title}, in a new tab")
                            Tag("a", "Download", "button", href=f"/documents/{entry.key}?download=1", download=True,
                                aria_label=f"Download: {entry.title}")
                with Tag("div", classes="paper all"):
                    Tag("strong", "Everything in one file")
                    Tag("span", "All documents, the photographs and the SHA-256 of each, to be kept with the job (zip)", "small block")
                    with Tag("div", classes="tools"):
                        Tag("a", "Download", "button main", href="/documents/archive", download=True, aria_label="Download everything as a zip")
        with Tag("section", aria_labelledby="h-heading"):
            Tag("h2", "What they say of the case", id="h-heading")
            with Tag("div", classes="grid"):
                self.parts = [generic(desk, field("", key), None, (key,), classes="wide" if key == "description" else "")
                              for key in ("title", "date", "description")]
        with Tag("section", aria_labelledby="h-author"):
            Tag("h2", "Client and author", id="h-author")
            Tag("p", "What is left empty is a line to fill in by hand.", "small")
            with Tag("div", classes="grid"):
                self.parts += [generic(desk, f, None, (f.key,), "document") for f in fields("document") if f.key not in ("logo", "language")]
        self.refresh()

    def refresh(self) -> None:
        for part in self.parts:
            part.refresh()
        self.refresh_answer()

    def refresh_answer(self) -> None:
        faults = self.desk.case.check().faults
        self.state.say(f"The case has {len(faults)} fault{'s' * (len(faults) != 1)}, which stand at their fields: no document can be made."
                       if faults else "Made from the present entries when you ask; the longer ones take some seconds.")
