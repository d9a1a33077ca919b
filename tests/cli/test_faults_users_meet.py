"""What can go wrong around the program: disks, folders, interrupts, locales, line ends, hostile texts. Kind of all checks: behaviour laid down."""

import csv
import errno
import io
import json
import os
import re
import signal
import subprocess
import sys
import xml.dom.minidom
from pathlib import Path

import pypdf
import pytest
from click.testing import CliRunner
from read_back import page_texts, squeezed

from lostneutral import CaseError, analyse, page_html, parse_case, result_json
from lostneutral.cli import main
from lostneutral.errors import UsageError
from lostneutral.report.base import files
from lostneutral.report.base.files import write_file, write_files
from lostneutral.report.damage.items_file import items_csv
from lostneutral.report.documents.document import report_pdf
from lostneutral.report.screen.terminal import terminal_text

RUN = [sys.executable, "-m", "lostneutral"]
CASE = 'title = "x"\n[supply]\n[[load]]\nname = "a"\nkind = "resistive"\nconnect = "L1-N"\npower = 40\n'
posix = pytest.mark.skipif(sys.platform == "win32", reason="needs a POSIX system")


def lostneutral(*arguments, **options):
    return subprocess.run([*RUN, *map(str, arguments)], **{"capture_output": True, "timeout": 60} | options)  # noqa: PLW1510


# Disks and folders

@posix
def test_a_full_disk_leaves_nothing_half_written(tmp_path):
    import resource

    (tmp_path / "c.toml").write_text(CASE, encoding="utf-8")
    (tmp_path / "o.json").write_text("before", encoding="utf-8")
    ended = lostneutral("analyse", tmp_path / "c.toml", "--json", tmp_path / "o.json", "--force",
                        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (1024, 1024)),
                        env=os.environ | {"PYTHONDONTWRITEBYTECODE": "1"})  # Python keeps a compiled file that was cut short
    assert ended.returncode == 2 and b"make room" in ended.stderr and b"Traceback" not in ended.stderr
    assert (tmp_path / "o.json").read_text(encoding="utf-8") == "before"
    assert sorted(p.name for p in tmp_path.iterdir()) == ["c.toml", "o.json"]


def test_a_folder_that_cannot_be_written_is_told_before_the_work(tmp_path, monkeypatch):
    (tmp_path / "c.toml").write_text(CASE, encoding="utf-8")
    monkeypatch.setattr(files.os, "access", lambda path, mode: mode != files.os.W_OK)
    monkeypatch.setattr("lostneutral.analysis.analyse", lambda *_, **__: pytest.fail("worked for nothing"))
    ended = CliRunner().invoke(main, ["report", str(tmp_path / "c.toml"), "-o", str(tmp_path / "new" / "o.pdf")])
    assert ended.exit_code == 2 and "a folder that you may write to" in ended.stderr


def test_what_another_run_has_written_meanwhile_is_kept(tmp_path, monkeypatch):
    place = tmp_path / "o.pdf"
    monkeypatch.setattr(files, "check_free", lambda *_, **__: place.write_bytes(b"the other's"))
    with pytest.raises(UsageError, match="already exists"):
        write_file(place, b"ours")
    assert place.read_bytes() == b"the other's" and list(tmp_path.iterdir()) == [place]
    write_file(place, b"ours", force=True)
    assert place.read_bytes() == b"ours"


def test_files_that_belong_together_are_there_together_or_not_at_all(tmp_path, monkeypatch):
    old, new, other = tmp_path / "old.pdf", tmp_path / "new.pdf", tmp_path / "other.pdf"
    old.write_bytes(b"before")
    wanted = {old: b"a", new: b"b", other: b"c"}
    keep = Path.write_bytes

    def full(path, content):
        if "other" in path.name:
            raise OSError(errno.ENOSPC, "No space left on device")
        return keep(path, content)

    with monkeypatch.context() as broken:
        broken.setattr(Path, "write_bytes", full)
        with pytest.raises(UsageError, match="other.pdf: cannot be written: No space left on device — make room"):
            write_files(wanted, force=True)
    assert old.read_bytes() == b"before" and list(tmp_path.iterdir()) == [old]

    def late(path, force, keep=None):  # another run writes the last one while ours are being given their names
        if path == other:
            other.write_bytes(b"the other's")

    with monkeypatch.context() as broken:
        broken.setattr(files, "check_free", late)
        with pytest.raises(UsageError, match="already exists"):
            write_files({new: b"b", other: b"c"})
    assert sorted(tmp_path.iterdir()) == [old, other] and other.read_bytes() == b"the other's"
    write_files(wanted, force=True)
    assert [p.read_bytes() for p in (old, new, other)] == [b"a", b"b", b"c"] and len(list(tmp_path.iterdir())) == 3


@posix
def test_two_runs_at_once_on_one_output(tmp_path):
    runs = [subprocess.Popen([*RUN, "new", str(tmp_path / "n.toml")], stderr=subprocess.PIPE) for _ in range(2)]
    said = [run.communicate(timeout=60)[1] for run in runs]
    assert sorted(run.returncode for run in runs) == [0, 2] and any(b"already exists" in text for text in said)
    assert [p.name for p in tmp_path.iterdir()] == ["n.toml"]


def test_an_interrupt_while_a_file_is_given_its_name_leaves_the_old_one(tmp_path, monkeypatch):
    place = tmp_path / "o.pdf"
    place.write_bytes(b"before")

    def interrupted(*_):
        raise KeyboardInterrupt

    monkeypatch.setattr(files.os, "replace", interrupted)
    with pytest.raises(KeyboardInterrupt):
        write_file(place, b"after", force=True)
    assert place.read_bytes() == b"before" and list(tmp_path.iterdir()) == [place]


@posix
@pytest.mark.parametrize("module, code", [("click", -signal.SIGINT), ("lostneutral.cli.shell", -signal.SIGINT),
                                          ("lostneutral.cli.analyse", 130), ("numpy", 130)])
def test_an_interrupt_while_the_program_loads_ends_without_a_traceback(module, code):
    run = f"""
import builtins, os, signal, sys
whole = builtins.__import__
def interrupted(name, *rest, **more):
    if name == {module!r} and "lostneutral.cli" in sys.modules:
        os.kill(os.getpid(), signal.SIGINT)
    return whole(name, *rest, **more)
builtins.__import__ = interrupted
import importlib
load = importlib.import_module
importlib.import_module = lambda name, *rest, **more: os.kill(os.getpid(), signal.SIGINT) if name == {module!r} else load(name, *rest, **more)
from lostneutral.cli import main
main(["analyse", "-"])
"""
    ended = subprocess.run([sys.executable, "-c", run], input=CASE.encode(), capture_output=True, timeout=60)  # noqa: PLW1510
    assert ended.returncode == code
    assert b"Traceback" not in ended.stderr and not ended.stdout


# Where the program stands

@posix
def test_no_home_no_utf_8_and_a_path_of_every_script(tmp_path):
    folder = tmp_path / "a b" / "例え" / "عربي"
    folder.mkdir(parents=True)
    case = folder / "ca se é.toml"
    case.write_text(CASE.replace('"a"', '"Löwe ω"'), encoding="utf-8")
    bare = {"LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONIOENCODING": "ascii", "HOME": "/proc", "OPENBLAS_NUM_THREADS": "1"}
    ended = lostneutral("report", case, "-o", folder / "о т.pdf", env=bare)
    assert ended.returncode == 0 and len(ended.stderr.splitlines()) == 1, ended.stderr  # "Wrote …", and nothing of fonts
    assert (folder / "о т.pdf").read_bytes().startswith(b"%PDF")


def test_no_output_depends_on_the_clock():
    # a clock in 1970 changes nothing: no module but the local workbench reads it
    reads = re.compile(r"datetime\.now|\.today\(\)|utcnow|time\.time\(|localtime|gmtime")
    package = Path(files.__file__).parents[2]
    assert [p.name for p in package.rglob("*.py") if p.parent.name != "desk" and reads.search(p.read_text(encoding="utf-8"))] == []


def test_windows_line_ends_change_nothing_but_the_checksum():
    one, other = (json.loads(result_json(analyse(parse_case(text.encode())))) for text in (CASE, CASE.replace("\n", "\r\n")))
    for made in (one, other):
        del made["case"]["sha256"]
    assert one == other
    faulty = CASE.replace("resistive", "resistor")
    faults = []
    for text in (faulty, faulty.replace("\n", "\r\n")):
        with pytest.raises(CaseError) as raised:
            parse_case(text)
        faults.append(raised.value.faults)
    assert faults[0] == faults[1] and faults[0][0].startswith("case.toml:5:8:")


def test_a_case_of_ten_megabytes_is_refused_at_once(tmp_path):
    (tmp_path / "big.toml").write_bytes(CASE.encode() + b"# " + b"x" * 10_000_000)
    ended = CliRunner().invoke(main, ["analyse", str(tmp_path / "big.toml")])
    assert ended.exit_code == 2 and "larger than 2 MB" in ended.stderr


# Hostile texts change nothing but text

HOSTILE = ['=HYPERLINK("http://x")', "+1+1", "-2", "@SUM(A1)", "#set page(fill: red)", "$x^2$ *b* _i_ `c` <l> @r", "</script><script>alert(1)",
           "<svg onload=alert(1)>", "]]></text>&amp;&lt;", "{{7*7}} %s {0} {name}", "../../etc/passwd", "\u202eevil", "\U0001f600 smile"]


@pytest.fixture(scope="module")
def hostile():
    quoted = [json.dumps(text, ensure_ascii=False) for text in HOSTILE]
    loads = "".join(f'[[load]]\nname = {name}\nkind = "resistive"\nconnect = "L{n % 3 + 1}-N"\npower = {100 + 7 * n}\n'
                    for n, name in enumerate(quoted))
    head = 'title = "<b>T</b> #link(1) \\u001b[31mred $ a_b"\ndescription = "=cmd|x \\u001b]0;t\\u0007 #eval"\n'
    return analyse(parse_case(f'{head}[supply]\nearthing = "TN-C-S"\n[[point]]\nname = "@x #t[p]"\nelectrode = 20\n{loads}'))


def test_no_cell_of_the_list_of_items_is_a_formula(hostile):
    rows = list(csv.reader(io.StringIO(items_csv(hostile))))
    assert [row[0].lstrip("'") for row in rows[1:-1]] == [text.replace("\u202e", "U+202E") for text in HOSTILE]
    assert not [cell for row in rows for cell in row if cell[:1] in ("=", "+", "-", "@", "\t", "\r")]


def test_the_terminal_gets_no_escape_code_and_no_turned_text(hostile):
    text = terminal_text(hostile, colour=False, width=100)
    assert "\x1b" not in text and "\u202e" not in text and "U+001B" in text and HOSTILE[4] in text


def test_the_page_keeps_its_scripts(hostile):
    page = page_html(hostile)
    assert "<script>alert" not in page and "<svg onload" not in page and page.count("<script") == page.count("</script>")


def test_a_drawing_stays_well_formed(hostile):
    from lostneutral.report.star import figures

    assert xml.dom.minidom.parseString(figures.picture(hostile)[0]).documentElement.tagName == "svg"  # noqa: S318 - our own


def test_the_report_shows_markup_as_it_was_written(hostile):
    content = report_pdf(hostile, "investigator")
    text, pages = squeezed(" ".join(page_texts(content))), pypdf.PdfReader(io.BytesIO(content)).pages
    for name in HOSTILE[:10]:
        assert squeezed(name) in text, name
    assert not any("/Annots" in page and any(a.get_object().get("/A", {}).get("/S") == "/URI" for a in page["/Annots"]) for page in pages)


@pytest.mark.parametrize("number", ["1e308", "-1e308", "9" * 400, "1e-320", "nan", "inf", "-0.0", "0x7fffffffffffffff"])
def test_huge_numbers_are_faults_with_a_place(number):
    try:
        analyse(parse_case(CASE.replace("power = 40", f"power = {number}")))
    except CaseError as error:
        assert error.faults[0].startswith("case.toml:7:")
    else:
        pytest.fail(f"{number} was taken")
