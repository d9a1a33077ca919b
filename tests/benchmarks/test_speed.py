"""How long the commands take, each as a ratio to something that it cannot do without, measured in the same run.

The ratios are printed and kept in pytest-benchmark's extra_info; no time passes or fails. Aims: `--help` within 3 times
importing click, `analyse` within 2 times importing what it needs, `report` within 3 times drawing its figures alone.
"""

import subprocess
import sys
from pathlib import Path
from time import perf_counter

from lostneutral import analyse, read_case

CASEBOOK = Path(__file__).parents[2] / "casebook"
START = "from lostneutral.cli import main; main({}, standalone_mode=False)"


def python(code):
    """Run `code` in a Python of its own; return what it writes to standard error."""
    return subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True, timeout=120).stderr


def record(benchmark, work, yardstick, rounds):
    """Time both in turn, keep the ratio of their fastest runs."""
    seconds = {work: [], yardstick: []}
    for _ in range(rounds):
        for call, times in seconds.items():
            start = perf_counter()
            call()
            times.append(perf_counter() - start)
    benchmark.pedantic(work, rounds=1)
    ratio = min(seconds[work]) / min(seconds[yardstick])
    benchmark.extra_info["ratio"] = round(ratio, 2)
    print(f"\n{benchmark.name}: {ratio:.2f} times its yardstick")
    assert ratio > 0  # a time proves nothing about the program: what is checked is that both ran


def test_help_against_importing_click(benchmark):
    record(benchmark, lambda: python(START.format(["--help"])), lambda: python("import click"), 5)


def test_analyse_against_importing_what_it_needs(benchmark):
    run = START.format(["analyse", str(CASEBOOK / "three-unequal-lamps.toml")])
    third_party = {"numpy", "scipy", "click", "pydantic", "tree_sitter", "tree_sitter_toml"}
    needed = python(f"import sys; {run}; print(*[m for m in sys.modules if m.split('.')[0] in {third_party}], "
                    "file=sys.stderr)").split()
    imports = (f"from importlib import import_module\nfor m in {needed}:\n"
               "    try: import_module(m)\n    except ImportError: pass  # a module that only its own package can load")
    record(benchmark, lambda: python(run), lambda: python(imports), 3)


def test_report_against_drawing_its_figures(benchmark):
    from lostneutral.report.documents.document import report_pdf
    from lostneutral.report.star import figures

    result = analyse(read_case(CASEBOOK / "three-unequal-lamps.toml"))
    drawn = figures.picture, figures.phasors, figures.voltages, figures.currents
    report_pdf(result)  # what is loaded once is loaded
    record(benchmark, lambda: report_pdf(result, "investigator"), lambda: [draw(result) for draw in drawn], 3)
