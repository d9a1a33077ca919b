"""The frame around every command: help, and what each kind of failure ends with."""

import errno
import os
import signal
import sys
from importlib import import_module

import click

from lostneutral import __version__
from lostneutral.cli.interrupts import ending_at_once, interrupts
from lostneutral.errors import LostNeutralError, UsageError

EXIT_CODES = """\b
Exit codes:
  0  done
  1  internal error
  2  error in the command or the case file
  3  no solution found; the message says what was tried
  130  stopped by the user"""
# The systems of equations are small: threads that wait for each other cost far more than they bring. Before numpy is imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
# Nothing here extends pydantic: to look through all that is installed for what might takes longer than the checks of a small case.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
STOPPED = 130  #: by the user, as shells count it


class Shell(click.Group):
    """A group that turns errors into a message on standard error and an exit code, never into a traceback.

    Each command is imported when it is asked for.
    """

    names: tuple[str, ...] = ()  #: of the commands, in the order of the work

    def list_commands(self, ctx):
        return list(self.names)

    def resolve_command(self, ctx, args):
        try:
            return super().resolve_command(ctx, args)
        except click.exceptions.NoSuchCommand as error:  # its suggestions are from what is imported
            raise click.exceptions.NoSuchCommand(error.command_name, possibilities=self.names, ctx=ctx) from None

    def get_command(self, ctx, name):
        return import_module(f"lostneutral.cli.{name}").command if name in self.names else None

    def main(self, *arguments, **settings):
        with ending_at_once():
            return super().main(*arguments, **settings)

    def invoke(self, ctx):
        interrupts(signal.default_int_handler)
        try:
            returned = super().invoke(ctx)
            sys.stdout.flush()
            return returned
        except (click.ClickException, click.exceptions.Exit):
            raise
        except KeyboardInterrupt:
            end = STOPPED
        except LostNeutralError as error:
            click.echo(str(error), err=True)
            end = error.exit_code
        except OSError as error:
            end = _stream_broke(error) if error.filename is None else _ours(error)
        except Exception as error:  # noqa: BLE001 - whatever it is, no traceback for the user
            end = _ours(error)
        ctx.exit(end)


def _stream_broke(error):
    """Return the exit code for a failure to write standard output, and send the rest of it nowhere."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    if error.errno == errno.EPIPE:
        return 0  # the reader has what it wanted
    click.echo(f"Standard output cannot be written: {error.strerror}", err=True)
    return UsageError.exit_code


def _ours(error):
    """Say of an error that nobody foresaw where a maintainer has to look; return the exit code."""
    import traceback

    frames = traceback.extract_tb(error.__traceback__)
    inside = [f for f in frames if "lostneutral" in f.filename] or frames
    place = f"{os.path.basename(inside[-1].filename)}, line {inside[-1].lineno}"
    text = " ".join(str(error).split())[:300]
    click.echo("This is an internal error of lostneutral, not an error in your command or case. No result was given.\n"
               "To report it, send the maintainers the case file and this line:\n"
               f"  lostneutral {__version__}: {type(error).__name__}: {text} ({place})", err=True)
    return LostNeutralError.exit_code


@click.group(cls=Shell, epilog=EXIT_CODES, context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(__version__, prog_name="lostneutral")
def shell():
    """What happens in an installation when the neutral breaks.

    A case file describes the installation and the break. From it are calculated the voltage at every point and load,
    before and after, its effects, and a report.

    \b
    lostneutral new bakery.toml       an example case file to adapt
    lostneutral check bakery.toml     every error in it
    lostneutral analyse bakery.toml   results on screen
    lostneutral report bakery.toml    results as a PDF report
    """
