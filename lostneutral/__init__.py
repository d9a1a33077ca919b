"""What happens in an installation when the neutral of a multi-phase supply breaks.

>>> result = analyse(read_case("bakery.toml"))          # doctest: +SKIP
>>> write_report(result, "reports/bakery.pdf")          # doctest: +SKIP
"""

__version__ = "0.1.0"

_HOME = {"read_case": "case", "parse_case": "case", "analyse": "result", "follow": "result", "Result": "result",
         "result_json": "report.result_file", "write_report": "report.document"}
__all__ = list(_HOME)


def __getattr__(name):
    # Loaded on first use, so that importing the package (and `--help`) stays instant.
    from importlib import import_module

    if name in _HOME:
        return getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
