"""What happens in an installation when the neutral of a multi-phase supply breaks.

>>> from lostneutral import analyse, parse_case
>>> case = parse_case('''
... title = "Three lamps"
... [supply]
... [[load]]
... name = "Hall lamp"
... kind = "resistive"
... connect = "L1-N"
... power = 100
... [[load]]
... name = "Kitchen lamp"
... kind = "resistive"
... connect = "L2-N"
... power = 200
... [[load]]
... name = "Stair lamp"
... kind = "resistive"
... connect = "L3-N"
... power = 300
... ''')
>>> result = analyse(case)
>>> for load in result.after.solutions[0].loads:
...     print(load.name, f"{abs(load.voltage):.1f} V")
Hall lamp 289.4 V
Kitchen lamp 239.4 V
Stair lamp 175.7 V

Examples run in a copy of the repository. `python -m pydoc lostneutral` shows this page and those of all names below;
`lostneutral.errors` has the errors, all under LostNeutralError.
"""

TYPE_CHECKING = False
if TYPE_CHECKING:
    from lostneutral.analysis import analyse as analyse
    from lostneutral.analysis import follow as follow
    from lostneutral.case import parse_case as parse_case
    from lostneutral.case import read_case as read_case
    from lostneutral.errors import CaseError as CaseError
    from lostneutral.evidence.deduce import deduced as deduce
    from lostneutral.evidence.ranges import bound as bound
    from lostneutral.evidence.where import where as where
    from lostneutral.page import page_html as page_html
    from lostneutral.report.documents.document import write_report as write_report
    from lostneutral.report.result.file import result_json as result_json
    from lostneutral.result import Result as Result
    from lostneutral.teaching.lesson import lesson as teach

__version__ = "0.2.0"

_HOME = {"read_case": "case", "parse_case": "case", "CaseError": "errors", "analyse": "analysis", "follow": "analysis",
         "Result": "result", "bound": "evidence.ranges", "where": "evidence.where", "deduce": "evidence.deduce:deduced",
         "teach": "teaching.lesson:lesson", "page_html": "page",
         "result_json": "report.result.file", "write_report": "report.documents.document"}
__all__ = ["CaseError", "Result", "analyse", "bound", "deduce", "follow", "page_html", "parse_case", "read_case",
           "result_json", "teach", "where", "write_report"]


def __dir__() -> list[str]:
    return sorted({*globals(), *__all__})


def __getattr__(name: str) -> object:
    # Loaded on first use, so that importing the package (and `--help`) stays instant.
    from importlib import import_module

    if name in _HOME:
        module, _, own = _HOME[name].partition(":")
        return getattr(import_module(f"{__name__}.{module}"), own or name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
