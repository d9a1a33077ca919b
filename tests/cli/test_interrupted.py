"""Ctrl-C in the middle of a comparison of causes: what is known by then, marked, and nothing half-written. Kind: practice."""

import json
import subprocess
import sys

import pytest
from daily import daily
from read_back import page_texts

CASE = b'''
title = "A flat"
[supply]
[[point]]
name = "flat"
[[load]]
name = "A"
kind = "resistive"
connect = "L1-N"
power = 1000
[[load]]
name = "B"
kind = "resistive"
connect = "L2-N"
power = 1000
[[unknown]]
load = "B"
power = { low = 300, high = 2500 }
[[observation]]
between = "L1-N"
voltage = 240
uncertainty = 2
'''
posix = pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX system")


def interrupted(at, *arguments, folder):
    """Run the program with `arguments`; the signal of Ctrl-C comes as samples are solved for the `at`-th time."""
    run = f"""
import os, signal
from lostneutral.cli import main
from lostneutral.evidence import tempered
whole, times = tempered.evaluated, []
def solved(*given):
    times.append(1)
    if len(times) == {at}:
        os.kill(os.getpid(), signal.SIGINT)
    return whole(*given)
tempered.evaluated = solved
main({[*arguments]!r})
"""
    return subprocess.run([sys.executable, "-c", run], input=CASE, capture_output=True, timeout=300, cwd=folder, check=False)


@posix
@pytest.mark.parametrize("at", daily([4, 40]))
def test_what_is_known_by_then_is_given_and_marked(tmp_path, at):
    ended = interrupted(at, "deduce", "-", "--json", "found.json", "-o", "found.pdf", folder=tmp_path)
    assert ended.returncode == 130 and b"Traceback" not in ended.stderr, ended.stderr
    assert b"INCOMPLETE" in ended.stdout
    assert sorted(p.name for p in tmp_path.iterdir()) == ["found.json", "found.pdf"]
    told = json.loads((tmp_path / "found.json").read_text(encoding="utf-8"))["deduction"]
    assert told["complete"] is False
    # invariant: what is given of the causes is whole
    assert sum(cause["posterior"] for cause in told["causes"]) == pytest.approx(1, abs=1e-6)
    assert "INCOMPLETE" in page_texts(tmp_path / "found.pdf")[0]


@posix
def test_before_anything_is_known_nothing_is_written(tmp_path):
    ended = interrupted(1, "deduce", "-", "--json", "found.json", folder=tmp_path)
    assert ended.returncode == 130 and b"Traceback" not in ended.stderr and not ended.stdout
    assert not list(tmp_path.iterdir())


@pytest.mark.thorough
@posix
def test_a_report_is_not_written_on_half_a_comparison(tmp_path):
    ended = interrupted(4, "report", "-", "-o", "found.pdf", folder=tmp_path)
    assert ended.returncode == 130 and b"Traceback" not in ended.stderr
    assert not list(tmp_path.iterdir())
