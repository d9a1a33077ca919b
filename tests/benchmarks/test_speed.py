"""How long the commands take, each as a ratio to something that it cannot do without, measured in the same run.

The ratios are printed and kept in pytest-benchmark's extra_info; no time passes or fails. Aims: `--help` within 3 times
importing click, `analyse` within 2 times importing what it needs, `report` within 3 times drawing its figures alone. Of cases with
electronics and motors CPU time is taken, in processes of their own: `analyse` of a shop of 15 items within 3 times importing numpy,
pydantic and what is used of scipy, of a house with two motors within 5 times; their reports within 1.5 times `analyse`, 2 with a bad joint.
"""

import os
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory
from time import perf_counter

import pytest

from lostneutral import analyse, read_case

CASEBOOK = Path(__file__).parents[2] / "casebook"
START = "from lostneutral.cli import main; main({}, standalone_mode=False)"

IMPORTS = "import numpy, pydantic, scipy.optimize, scipy.sparse.linalg"
LIBRARY = f"{IMPORTS}\nfrom lostneutral import analyse, parse_case\nfrom lostneutral.report.documents.document import report_pdf"
SLOW = {"corner-shop": 3.0, "house-two-motors": 5.0, "solar-roof": None, "hotel-kitchen": None, "joinery": None}
"""Cases with electronics, motors or several states -> what `analyse` is to take at most, in times of its imports."""


COMPILED = TemporaryDirectory(prefix="lostneutral")  #: bytecode, as whoever has the package installed has it
ENVIRONMENT = {**os.environ, "PYTHONPYCACHEPREFIX": COMPILED.name, "PYTHONDONTWRITEBYTECODE": ""}


def python(code):
    """Run `code` in a Python of its own; return what it writes to standard error."""
    return subprocess.run([sys.executable, "-c", code], check=True, capture_output=True, text=True, timeout=120, env=ENVIRONMENT).stderr


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


def cpu(setup, *works):
    """Return the CPU time (s) of each of `works`, one after the other in a Python of its own that ran `setup` first."""
    timed = "".join(f"begin = process_time()\n{work}\nprint(process_time() - begin, file=sys.stderr)\n" for work in works)
    return [float(line) for line in python(f"import sys\nfrom time import process_time\n{setup}\n{timed}").split()]


def text_of(name):
    """Return the text of a case of the casebook, or beside this file; the shop's neutral also as a bad joint of 3 ohm."""
    folder = CASEBOOK if (CASEBOOK / f"{name.removesuffix(' 3 ohm')}.toml").exists() else Path(__file__).parent
    text = (folder / f"{name.removesuffix(' 3 ohm')}.toml").read_text(encoding="utf-8")
    return text.replace('resistance = "open"', "resistance = 3.0") if name.endswith(" 3 ohm") else text


def least(rounds, *runs):
    """Return the least of `rounds` of each of `runs`, taken in turn: arrays of CPU times (s)."""
    return [[min(times) for times in zip(*each)] for each in zip(*([run() for run in runs] for _ in range(rounds)))]


@pytest.mark.parametrize("name", SLOW)
def test_analyse_of_what_has_several_states_against_imports(benchmark, name):
    setup = f"{LIBRARY}\ntext = {text_of(name)!r}"
    [imports], [spent] = least(2, lambda: cpu("", IMPORTS), lambda: cpu(setup, "analyse(parse_case(text))"))
    told(benchmark, f"analyse, {name}", spent / imports, SLOW[name])


@pytest.mark.parametrize(("name", "most"), [("corner-shop", 1.5), ("corner-shop 3 ohm", 2.0)])
def test_report_against_analyse(benchmark, name, most):
    setup = f"{LIBRARY}\ntext = {text_of(name)!r}\nreport_pdf(analyse(parse_case({text_of('three-unequal-lamps')!r})))"
    [[analysed, reported]] = least(2, lambda: cpu(setup, "result = analyse(parse_case(text))", "report_pdf(result)"))
    told(benchmark, f"report, {name}", (analysed + reported) / analysed, most)


def told(benchmark, what, ratio, aim):
    """Keep and print a ratio beside what is aimed at."""
    benchmark.pedantic(lambda: None, rounds=1)
    benchmark.extra_info["ratio"] = round(ratio, 2)
    print(f"\n{what}: {ratio:.2f} times its yardstick" + (f", {aim:g} aimed at" if aim else ""))
    assert ratio > 0  # as in `record`


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


def test_simplest_analyse_against_importing_numpy_and_pydantic(benchmark):
    run, case = START.format(["analyse", str(CASEBOOK / "three-unequal-lamps.toml")]), "print(process_time(), file=sys.stderr)"
    timed = [lambda code=code: [float(python(f"import sys\nfrom time import process_time\n{code}\n{case}").split()[-1])]
             for code in ("import numpy, pydantic", run)]
    [imports], [spent] = least(4, *timed)
    told(benchmark, "simplest analyse", spent / imports, 2.0)


def test_report_against_drawing_its_figures(benchmark):
    from lostneutral.report.documents.document import report_pdf
    from lostneutral.report.star import figures

    result = analyse(read_case(CASEBOOK / "three-unequal-lamps.toml"))
    drawn = figures.picture, figures.phasors, figures.voltages, figures.currents
    report_pdf(result)  # what is loaded once is loaded
    record(benchmark, lambda: report_pdf(result, "investigator"), lambda: [draw(result) for draw in drawn], 3)
