"""The arguments that several commands share."""

import click


class Number(click.ParamType):
    """A number of `kind` (int or float) from `low` to `high`, with the range in words a reader can take in."""

    def __init__(self, kind, low, high):
        self.kind, self.low, self.high = kind, low, high
        self.name = "whole number" if kind is int else "number"
        self.words = f"{_plain(low)} to {_plain(high)}"

    def convert(self, value, param, ctx):
        try:
            number = self.kind(value)
        except ValueError:
            self.fail(f"{value} is not a {self.name} — give one from {self.words}", param, ctx)
        if not self.low <= number <= self.high:
            self.fail(f"{value} is out of range — give a {self.name} from {self.words}", param, ctx)
        return number


def _plain(number):
    """Return `number` in digits alone, in groups of three where it is long."""
    return f"{number:g}" if number < 10_000 else f"{number:,.0f}".replace(",", " ")


def number_option(name, low, high, text, kind=int, metavar="NUMBER", **settings):
    """Return the option `name` that takes a number from `low` to `high`; its help is `text` and the range."""
    of = Number(kind, low, high)
    return click.option(name, metavar=metavar, type=of, help=f"{text} Range: {of.words}.", **settings)


def file_option(*names, text, dash=True):
    """Return the option `names` that takes the name of a file to write, or, with `dash`, - for standard output."""
    return click.option(*names, metavar="FILE", type=click.Path(allow_dash=dash), help=text, callback=None if dash else with_a_name)


def with_a_name(context, option, given):
    """Return the name `given`, which may not be - (click itself asks nothing of a file that need not exist)."""
    if given == "-":
        raise click.BadParameter("does not go to standard output: give its name, not -", context, option)
    return given


case_argument = click.argument("case", type=click.Path(allow_dash=True))
force_option = click.option("--force", is_flag=True, help="Overwrite an existing file.")
full_option = click.option("--full", is_flag=True, help="Print everything: every row, what was assumed, cautions in full.")
json_option = file_option("--json", "json_file", text="Also write machine-readable results (JSON); - sends only these "
                                                      "to standard output.")
items_option = file_option("--items", "items_file", text="Also write the list of items as CSV, for a spreadsheet; - sends only "
                                                        "this to standard output.")
waveforms_option = click.option(
    "--waveforms", is_flag=True, help="Calculate waveforms for rectifier loads, whatever their share of the power.")
seed_option = number_option(
    "--seed", 0, 2**31, "Start number of the random sequence; the same number gives the same result.", default=1,
    show_default=True)
