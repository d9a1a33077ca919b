"""The report: what a result says, as a PDF for a client, a trainer or an investigator."""

from os import PathLike

from lostneutral.errors import UsageError
from lostneutral.report import computed, concluded, damage, given
from lostneutral.report.blocks import heading, new_page
from lostneutral.report.course_section import course
from lostneutral.report.deduction_section import deduction, deduction_in_short
from lostneutral.report.earth import earth
from lostneutral.report.files import check_free, write_file
from lostneutral.report.page_one import page_one
from lostneutral.report.pdf import date_words, set_pdf
from lostneutral.report.ranges_section import ranges
from lostneutral.report.sensitivity import what_would_change
from lostneutral.report.waveform_section import sines, waves_in_full, waves_in_short, waves_method
from lostneutral.result import Result

AUDIENCES = ("client", "trainer", "investigator")


def write_report(result: Result, path: str | PathLike[str], audience: str = "client", force: bool = False) -> None:
    """Write the report on `result` as a PDF to `path`; the file appears whole or not at all.

    Raises UsageError if the file exists and `force` is not set, or if there is no such audience.
    """
    check_free(path, force)
    write_file(path, report_pdf(result, audience), force)


def report_pdf(result: Result, audience: str = "client") -> bytes:
    """Return the report on `result` as a PDF (tagged, PDF/UA-1 and PDF/A-2a), the same bytes from the same result.

    `audience` changes depth and order, never a figure or a caution. Its date is SOURCE_DATE_EPOCH, else the case's.
    """
    if audience not in AUDIENCES:
        raise UsageError(f"there is no report for '{audience}' — one of: {', '.join(AUDIENCES)}")
    case = result.case
    dated = date_words(case.date)
    return set_pdf(case.title, blocks(result, audience), date=case.date,
                   under_title=f"Calculated effects of a lost or high-resistance conductor, for a{'n' * (audience[0] in 'aeiou')} {audience} "
                               f"· {dated}",
                   footer=f"Computed by lostneutral {result.software.get('version', '')} · {dated} · "
                          f"case {case.sha256[:12] or 'without a file'}",
                   description=case.description or case.title)


def blocks(result, audience):
    """Return the blocks of the whole report in the order that `audience` needs."""
    made = [*page_one(result), new_page(), *damage.item_by_item(result)]
    for section in _ORDER[audience]:
        made += section(result.sines or result if section in _OF_SINES else result)
    made += concluded.repeat(result, audience)
    return made + (concluded.case_text(result) if audience == "investigator" else [])


def _computed(result):
    return [heading("Computed"), *sines(result), *computed.star_point(result), *computed.voltages(result),
            *computed.currents(result), *computed.loads(result), *damage.joint(result), *computed.settled_states(result)]


def _constructions(result):
    return [heading("Computed"), *sines(result), *computed.star_point(result), *computed.currents(result),
            *computed.voltages(result), *computed.loads(result), *damage.joint(result), *computed.settled_states(result)]


def _changed(result):
    first, *rest = what_would_change(result)
    return [first, *sines(result), *rest]


_ORDER = {
    "client": (concluded.cautions, waves_in_short, computed.short_tables, earth, damage.joint, course, ranges,
               deduction_in_short, concluded.concluded, given.given, given.assumed, given.old_colours, concluded.source_list),
    "trainer": (waves_in_full, _constructions, earth, given.given, given.assumed, course, ranges, deduction,
                concluded.concluded, _changed, given.old_colours, concluded.cautions, concluded.method, waves_method,
                concluded.source_list),
    "investigator": (given.given, given.assumed, waves_in_full, _computed, earth, course, ranges, deduction,
                     concluded.concluded, _changed, given.old_colours, concluded.cautions, concluded.method, waves_method,
                     concluded.source_list),
}
_OF_SINES = (_computed, _constructions, waves_in_short, waves_in_full, _changed, ranges)
"""Sections that show phasors, or hold waveforms against them, where waveforms say what the circuit did."""
