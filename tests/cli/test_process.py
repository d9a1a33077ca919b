"""The program as a process of its own: pipes, terminals, streams, imports. Kind of all checks: behaviour laid down."""

import os
import subprocess
import sys

import pytest

LAMPS = b'title = "x"\n[supply]\n' + b"".join(
    b'[[load]]\nname = "%s"\nkind = "resistive"\nconnect = "%s-N"\npower = %d\n' % row
    for row in [(b"a", b"L1", 40), (b"b", b"L2", 100)])
RUN = [sys.executable, "-c", "from lostneutral.cli import main; main(prog_name='lostneutral')"]
posix = pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX system")


def lostneutral(*arguments, **options):
    options = {"capture_output": True, "input": LAMPS, "timeout": 60} | options
    return subprocess.run([*RUN, *arguments], **options)  # noqa: PLW1510


def at_a_terminal(*arguments, **environment):
    """Run with standard output at a pseudo-terminal; return what is written there."""
    import pty

    ours, theirs = pty.openpty()
    environment = {k: v for k, v in os.environ.items() if k not in ("NO_COLOR", "TERM")} | environment
    with subprocess.Popen([*RUN, *arguments], stdin=subprocess.PIPE, stdout=theirs, env=environment) as process:
        os.close(theirs)
        process.stdin.write(LAMPS)
        process.stdin.close()
        seen = b""
        try:
            while part := os.read(ours, 65536):
                seen += part
        except OSError:  # how Linux says that the other end has closed
            pass
    os.close(ours)
    assert process.returncode == 0
    return seen


@posix
def test_colour_only_where_it_is_wanted():
    assert b"\x1b[" in at_a_terminal("analyse", "-", TERM="xterm-256color")
    assert b"\x1b[" not in at_a_terminal("analyse", "-", TERM="xterm-256color", NO_COLOR="1")
    assert b"\x1b[" not in at_a_terminal("analyse", "-", TERM="dumb")


@pytest.mark.parametrize("arguments", [("analyse", "-"), ("--help",), ("anlyse",), ("check", "-")], ids=" ".join)
def test_pipes_get_no_escape_codes(arguments):
    result = lostneutral(*arguments, env=os.environ | {"TERM": "xterm-256color", "FORCE_COLOR": "1"})
    assert b"\x1b" not in result.stdout + result.stderr


@posix
def test_a_reader_that_stops_early():
    process = subprocess.Popen([*RUN, "schema"], stdout=subprocess.PIPE, stderr=subprocess.PIPE)
    process.stdout.close()
    with process:
        said = process.stderr.read()
    assert process.returncode == 0
    assert not said


@posix
@pytest.mark.parametrize(("redirected", "said"), [(">&-", b"closed"), (">/dev/full", b"No space left")])
def test_standard_output_that_cannot_be_written(redirected, said):
    if redirected == ">/dev/full" and not os.path.exists("/dev/full"):
        pytest.skip("needs /dev/full")
    command = " ".join(["exec", f"'{RUN[0]}'", "-c", f'"{RUN[2]}"', "schema", redirected])
    result = subprocess.run(["sh", "-c", command], capture_output=True, timeout=60)  # noqa: PLW1510
    assert result.returncode == 2
    assert said in result.stderr and b"Traceback" not in result.stderr


@pytest.mark.parametrize("encoding", ["ascii", "utf-8"])
def test_a_terminal_with_few_characters(encoding):
    case = LAMPS.replace(b'"x"', '"ω and “quotes”"'.encode())
    result = lostneutral("analyse", "-", input=case, env=os.environ | {"PYTHONIOENCODING": encoding})
    assert result.returncode == 0
    assert ("ω" in result.stdout.decode(encoding)) == (encoding == "utf-8")
    json = lostneutral("analyse", "-", "--json", "-", input=case, env=os.environ | {"PYTHONIOENCODING": encoding})
    assert "ω" in json.stdout.decode("utf-8")  # the result file is UTF-8 whatever the terminal


def test_help_imports_nothing_heavy():
    heavy = "numpy", "scipy", "matplotlib", "typst", "pydantic", "tree_sitter"
    code = ("import sys; from lostneutral.cli import main; main(['--help'], standalone_mode=False); "
            f"print([m for m in {heavy} if m in sys.modules], file=sys.stderr)")
    result = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, timeout=60)  # noqa: PLW1510
    assert "analyse" in result.stdout
    assert result.stderr.strip() == "[]"


def test_a_simple_case_imports_nothing_that_it_has_no_use_for():
    unused = ("json", "lostneutral.case.sources_schema", "lostneutral.case.exhibits_schema", "lostneutral.case.seen_schema")
    code = ("import sys; from lostneutral.cli import main; main(['analyse', '-'], standalone_mode=False); "
            f"print([m for m in {unused} if m in sys.modules], file=sys.stderr)")
    result = subprocess.run([sys.executable, "-c", code], input=LAMPS, capture_output=True, timeout=60, check=True)
    assert result.stderr.strip() == b"[]"


def test_the_library_does_not_import_click():
    code = ("import sys, lostneutral; result = lostneutral.analyse(lostneutral.parse_case(sys.stdin.buffer.read())); "
            "lostneutral.result_json(result); lostneutral.write_report; sys.exit('click' in sys.modules)")
    subprocess.run([sys.executable, "-c", code], input=LAMPS, check=True, timeout=60)
