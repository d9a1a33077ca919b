"""What waveforms mean in a sentence, for page one and section alike."""

from lostneutral.consequences.upstream import faulted
from lostneutral.consequences.waves import CUT, NOTICED, OVER, concerned, line_powers, opened
from lostneutral.report.base.words import number, significant
from lostneutral.report.waveform.rows import link_rows, neutral_rows, phase_rows

SHIFT = 1.0  #: V; a star point that moves less by the break has not moved
HELD = 0.1  #: of the nominal voltage: how far the fundamental may move a star point that still counts as held
THIRD = 0.05  #: of its current: third harmonic from which a neutral is worth a sentence


def what_became(case, waveforms):
    """Return in one sentence what the pulses lead to."""
    if waveforms.after.ends == "cycle":
        return "The power supplies would shut down and restart again and again, and the voltages swing with them."
    if waveforms.after.ends == "undecided":
        return "The voltages did not reach a steady state in the time that was calculated."
    places = concerned(case)
    names = {load.name for load in case.loads if load.point in places}
    links = [row for row in link_rows(case, waveforms) if row.name in names]
    if not links:
        return _neutral(case, waveforms) or "No rectifier with a capacitor is among the loads that are on."
    cut, over = ([row for row in links if row.verdict == word] for word in (CUT, OVER))
    if cut or over:
        return _apart(case, cut, over)
    was = [row.before for row in links if row.before]
    inside = f"their d.c. links would be at {_volts(links)} V" + (f" instead of {span_of_links(was)} V" if was else "")
    if not opened(case) or not _moved(waveforms):
        return _neutral(case, waveforms) or f"The power supplies would run: {inside}."
    if _held(case, waveforms):
        return (f"The rectifiers would keep the voltages of {_star(case)} near normal: {inside}, none above its capacitor's "
                "rating and none shut down.")
    return f"The power supplies would go on running although the voltages of {_star(case)} are unbalanced: {inside}."


def _apart(case, cut, over):
    high = f"at {_volts(over)} V d.c., above the rating of their capacitors." if over else ""
    if not cut:
        return f"No power supply would shut down, but the links of those on {_lines(over)} would be {high}"
    low = f"the power supplies on {_lines(cut)} would be at their cut-off, with {_volts(cut)} V d.c. inside"
    said = f"the voltages of {_star(case)} would collapse: {low}" if opened(case) else low
    return said[0].upper() + said[1:] + (f"; the links of those on {_lines(over)} would be {high}" if over else ".")


def _star(case):
    return "the three lines" if len(case.supply.lines) == 3 else "the two lines"


def _moved(waveforms):
    """Return whether a star point stands elsewhere than before the break."""
    before = waveforms.before.stars.values() if waveforms.before else ()
    rest = max((star.rms for star in before if star), default=0.0)
    return any(star is not None and star.rms >= rest + SHIFT for star in waveforms.after.stars.values())


def _held(case, waveforms):
    stars = [star for star in waveforms.after.stars.values() if star]
    return all(line_powers(case).values()) and all(star.harmonics[0] < HELD * case.supply.nominal for star in stars)


def _neutral(case, waveforms):
    found = max(neutral_rows(case, waveforms), key=lambda row: row.current / row.line, default=None)
    if found is None or found.third < THIRD * found.current:
        return ""
    return (f"The neutral in the cable to {found.feeding} would carry {significant(found.current, 'A')}, "
            f"{number(found.current / found.line, 2)} times the largest line current; the third harmonic in it is "
            f"{significant(found.third, 'A')}.")


def deceived(case, waveforms):
    """Return in a sentence what meters show where an averaging one is furthest off."""
    found = [row for row in phase_rows(case, waveforms) if row.after and row.after.rms > SHIFT]
    off = lambda row: abs(row.after.average_reading / row.after.rms - 1)
    worst = max(found, key=off, default=None)
    if worst is None or off(worst) < NOTICED:
        return "Here the two kinds of meter agree to a few per cent."
    wave = worst.after
    when = " after the break" if faulted(case) else ""
    return (f"Here, on {worst.line} at {worst.place}{when}, a true-r.m.s. meter would show "
            f"{number(wave.rms, 0)} V, an average-responding one {number(wave.average_reading, 0)} V, and the crest is "
            f"{number(wave.crest, 0)} V, where a sine of that r.m.s. value has {number(2**0.5 * wave.rms, 0)} V.")


def _lines(links):
    *others, last = dict.fromkeys(row.connect for row in links)
    return f"{', '.join(others)} and {last}" if others else last


def _volts(links):
    return span_of_links([row.after for row in links])


def span_of_links(volts):
    """Return the lowest and the highest of `volts` in words."""
    low, high = number(min(volts), 0), number(max(volts), 0)
    return low if low == high else f"{low} to {high}"
