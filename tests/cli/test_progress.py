"""Long work says at a terminal what it is doing, and leaves nothing of it behind. Kind: practice."""

import io
import sys

import pytest

from lostneutral.cli.output import working


class Terminal(io.StringIO):
    def isatty(self):
        return True


@pytest.mark.parametrize("fails", [False, True])
def test_a_terminal_is_told_and_cleared(monkeypatch, fails):
    monkeypatch.setattr(sys, "stderr", Terminal())
    try:
        with working("Comparing"):
            assert sys.stderr.getvalue() == "Comparing …"
            if fails:
                raise ValueError
    except ValueError:
        assert fails
    assert sys.stderr.getvalue().endswith("\r" + " " * len("Comparing …") + "\r")


def test_nothing_is_written_where_it_is_not_read(monkeypatch):
    monkeypatch.setattr(sys, "stderr", io.StringIO())
    with working("Comparing"):
        pass
    assert not sys.stderr.getvalue()
