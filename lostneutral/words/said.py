"""A claim in words."""

from lostneutral.frozen import dataclass


@dataclass(frozen=True)
class Said:
    """What a claim is of, its one sentence, what follows from it, and its figure for a table."""

    subject: str
    lead: str  #: the sentence that stands alone on a first page
    more: str = ""
    computed: str | None = None

    @property
    def message(self):
        """All of it."""
        return f"{self.lead} {self.more}".strip()
