"""What a handout leaves to be filled in by hand: a question with its marks, lines to write on, and its answer for the key."""

from lostneutral.frozen import dataclass
from lostneutral.report.base.blocks import BLANK, paragraph, ruled, together
from lostneutral.words.language import tell

__all__ = ["BLANK", "Question", "ask", "mark_words"]


@dataclass(frozen=True)
class Question:
    """A question of the sheet. One without an answer is not asked."""

    part: str  #: of the lesson plan
    text: str
    marks: int
    answer: str
    lines: int = 2  #: to write on


def mark_words(marks: int) -> str:
    """Return marks as a sheet prints them: "[2 marks]"."""
    return tell("[1 mark]") if marks == 1 else tell("[{number} marks]", number=marks)


def ask(question: Question) -> dict:
    """Return the block of a question with lines for its answer, kept on one page."""
    return together([paragraph(f"{question.text} {mark_words(question.marks)}"), ruled(question.lines)])
