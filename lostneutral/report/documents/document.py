"""The report: what a result says, as a PDF for a client, a trainer or an investigator."""

from os import PathLike

from lostneutral.errors import UsageError
from lostneutral.report.base.blocks import heading, new_page
from lostneutral.report.base.files import check_free, write_file
from lostneutral.report.base.heading import fields_of, signature, translated
from lostneutral.report.base.pdf import date_words, page_count, set_pdf
from lostneutral.report.course.section import course
from lostneutral.report.damage import section as damage
from lostneutral.report.documents import computed, concluded, given
from lostneutral.report.documents.exhibits import logo
from lostneutral.report.documents.investigator import investigator
from lostneutral.report.documents.page_one import page_one, picture
from lostneutral.report.documents.page_two import page_two, time_bars
from lostneutral.report.documents.sensitivity import what_would_change
from lostneutral.report.earth.section import earth
from lostneutral.report.evidence.recorded import recordings
from lostneutral.report.evidence.section import deduction, deduction_in_short
from lostneutral.report.ranges.section import ranges
from lostneutral.report.waveform.section import sines, waves_in_full, waves_in_short, waves_method
from lostneutral.result import Result
from lostneutral.words.conclusion import fault_name
from lostneutral.words.language import speaking, tell

AUDIENCES = ("client", "trainer", "investigator")


def write_report(result: Result, path: str | PathLike[str], audience: str = "client", force: bool = False,
                 annex: bool = False) -> None:
    """Write the report on `result` as a PDF to `path`; the file appears whole or not at all.

    `audience` is "client" (two pages; `annex` adds tables and figures), "trainer" or "investigator".

    Raises UsageError if the file exists and `force` is not set, if it cannot be written, or if there is no such audience.

    >>> import tempfile
    >>> from pathlib import Path
    >>> from lostneutral import analyse, read_case, write_report
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     write_report(analyse(read_case("casebook/three-unequal-lamps.toml")), f"{folder}/lamps.pdf")
    ...     Path(f"{folder}/lamps.pdf").read_bytes()[:5]
    b'%PDF-'
    """
    check_free(path, force)
    write_file(path, report_pdf(result, audience, annex), force)


def report_pdf(result: Result, audience: str = "client", annex: bool = False) -> bytes:
    """Return the report on `result` as a PDF (tagged, PDF/UA-1 and PDF/A-2a), the same bytes from the same result.

    `audience` changes depth and order, never a figure or a caution; a client's two pages have tables and figures behind
    them with `annex`. The date is SOURCE_DATE_EPOCH, else the report's, else the case's.
    """
    if audience not in AUDIENCES:
        raise UsageError(f"there is no report for '{audience}' — one of: {', '.join(AUDIENCES)}")
    with speaking(result.case.document.language if audience == "client" else "en"):
        made, size = _client(result, annex) if audience == "client" else (blocks(result, audience), 9.2)
        return set_pdf(result.case.title, made, size=size, date=_dated(result.case), **_settings(result, audience))


def _dated(case):
    return case.document.report or case.date


def _settings(result, audience):
    """Return head, foot and paper of a report."""
    case = result.case
    d = case.document
    dated = date_words(_dated(case))
    fault = fault_name(case)
    what = tell("Report on a suspected fault: {fault}", fault=fault) if fault else tell("Report on an electrical installation")
    if audience != "client":
        what = {"trainer": "Worked case", "investigator": "Investigation report"}[audience] + (f": {fault}" if fault else "")
    version = f"lostneutral {result.software.get('version', '')}".strip()
    return {"above_title": what, "footer": tell("Calculated with {program} · {date}", program=version, date=dated), "paper": d.paper, "reference": d.reference or "",
            "description": case.description or case.title, "logo": logo(d)}


_PLAIN = {"drawn": False}
_FLOWING = _PLAIN | {"flowing": True}
_BRIEF = _FLOWING | {"short": True}
_FEWER = _BRIEF | {"others_only": True}
_LEAST = _FEWER | {"bars": False}
#: what a client's pages may leave out, with the sizes of their letters in pt, in the order in which it is wanted; smaller letters take less room
_FITS = (({}, (9.4,)), (_PLAIN, (9.4,)), (_PLAIN, (8.9, 8.4)), (_FLOWING, (8.4, 8.0)), (_BRIEF, (8.4, 8.0)), (_FEWER, (8.4, 8.0)), (_LEAST, (8.4, 8.0, 7.6)))


def _client(whole, annex):
    """Return the blocks of a client's report, and the size of letters at which they keep to two pages."""
    result = _of_the_client(whole)
    strips = time_bars(result)

    def pages(voltages, drawn=True, bars=True, **kept):
        return _two_pages(result, [*([voltages] if drawn else []), *(strips if bars else [])], **kept)

    room = picture(result, drawn=False)  # drawing it takes longer than all the rest, and there is seldom room for it

    def fits(kept, size):
        return page_count(result.case.title, pages(room, **kept), size=size, **_settings(result, "client")) <= 2

    kept, sizes = next(((kept, sizes) for kept, sizes in _FITS[:-1] if fits(kept, sizes[-1])), _FITS[-1])
    size = next((size for size in sizes[:-1] if fits(kept, size)), sizes[-1])
    made = pages(room, **kept)
    if room in made:
        made = pages(picture(result), **kept)
    if annex:
        with speaking("en"):
            made += _annex(whole, **kept)
    return made, size


def _of_the_client(result):
    """Return the result as it is for the client's premises; all of it where the case names none."""
    premises = result.case.document.premises
    return result.seen_from(premises) if premises else result


def _two_pages(result, pictures, short=False, flowing=False, **kept):
    return [*fields_of(result.case), *page_one(result, short), *([] if flowing else [new_page()]), *page_two(result, pictures, **kept),
            *signature(result.case), *translated()]


def _annex(result, drawn=True, bars=True, **_):
    """Return the annex of a client's report: every figure and text that its two pages rest on."""
    made = [new_page(), heading("Annex")]  # in English, whatever the language of the two pages
    made += [] if drawn else [picture(result)]
    made += [] if bars else time_bars(result)
    made += damage.item_by_item(result)
    for section in _ORDER["client"]:
        made += section(result.sines or result if section in _OF_SINES else result)
    return [*made, *concluded.repeat(result, "client --annex")]


def blocks(result, audience, annex=True):
    """Return the blocks of the whole report in the order that `audience` needs; of a client's with its `annex` or without."""
    if audience == "client":
        own = _of_the_client(result)
        return [*_two_pages(own, [picture(own), *time_bars(own)]), *(_annex(result) if annex else [])]
    if audience == "investigator":
        return investigator(result)
    made = [*page_one(result), picture(result)]
    for section in _ORDER[audience]:
        made += section(result.sines or result if section in _OF_SINES else result)
    return [*made, *concluded.repeat(result, audience)]


def _constructions(result):
    return [heading("Computed"), *sines(result), *computed.star_point_section(result), *computed.currents(result),
            *computed.voltages(result), *computed.loads(result), *damage.joint(result), *computed.settled_states(result)]


def _changed(result):
    first, *rest = what_would_change(result)
    return [first, *sines(result), *rest]


_ORDER = {
    "client": (waves_in_short, computed.short_tables, earth, damage.joint, course, recordings, ranges, deduction_in_short,
               concluded.concluded_for_client, given.given, given.assumed, given.old_colours, concluded.source_list_for_client),
    "trainer": (_constructions, damage.item_by_item, waves_in_full, earth, given.given, given.assumed, course, recordings, ranges, deduction,
                concluded.concluded, _changed, given.old_colours, concluded.method, waves_method,
                concluded.source_list),
}
_OF_SINES = (_constructions, waves_in_short, waves_in_full, _changed, ranges)
"""Sections that show phasors, or hold waveforms against them, where waveforms say what the circuit did."""
