"""What a handout leaves to be filled in by hand."""

from lostneutral.report.blocks import paragraph

BLANK = "_" * 10  #: a cell of a table
LINE = "_" * 100


def ask(question):
    """Return the blocks of a question with a line for its answer."""
    return [paragraph(question), paragraph(LINE)]
