"""The questions of a sheet with their answers, all worked out from the bench version; what has no answer is not asked."""

from dataclasses import replace

from lostneutral.circuit.states import before_and_after
from lostneutral.report.base.words import number
from lostneutral.teaching.bench import amp_words
from lostneutral.teaching.blanks import Question
from lostneutral.teaching.quiz import facts
from lostneutral.words.amounts import listed, plain
from lostneutral.words.language import tell


def predicting(lesson) -> list[Question]:
    """Return the questions that are asked before anything is switched on."""
    bench = lesson.bench
    holds, words = facts(bench)
    asked = []
    if holds["unequal"]:
        top, several = words["highest"], " and " in words["highest"]
        volts = max(bench.volt(line, bench.after) for line in bench.lines)
        asked.append(
            Question(
                "predict",
                tell("Which load is most at risk with the {out}, and why?", out=tell(bench.out)),
                2,
                f"The load{'s' if several else ''} on {top}: {number(volts)} V, {number(volts / bench.volts, 2)} × "
                + ("their rated voltage. They have" if several else "its rated voltage. It has")
                + " the smallest rated power, so the highest resistance.",
                1,
            )
        )
    asked.append(
        Question("predict", tell("What will the ammeter in the neutral show with the link in?"), 1, _neutral(bench), 1)
    )
    if len(bench.lines) > 1:
        asked.append(
            Question(
                "predict",
                tell("With the {out}, one load fails and is open-circuit: the one with the highest voltage (if all are alike, that on {line}). What happens to the others?", out=tell(bench.out), line=bench.lines[0]),
                2,
                _after_failure(bench),
            )
        )
    return asked


def _neutral(bench):
    amps = bench.amps("N", bench.before)
    most = max(bench.amps(line, bench.before) for line in bench.lines)
    return "Zero: equal line currents cancel." if amps < 1e-3 * most else f"{amp_words(amps)}."


def _after_failure(bench):
    """Return what the loads that are left get once the one with the highest voltage has failed open."""
    volts = {line: bench.volt(line, bench.after) for line in bench.lines}
    top = max(volts, key=lambda line: (round(volts[line], 6), line == bench.lines[0]))
    left = tuple(load for load in bench.case.loads if load.connect[0] != top)
    after = before_and_after(replace(bench.case, loads=left))[1].reached
    if len(left) == 1 and bench.out == "link out":
        return (
            f"No current flows in the other, on {left[0].connect[0]}: it has no voltage. N is then at the voltage of "
            f"{left[0].connect[0]}, still live."
        )
    now = ", ".join(f"{x.connect[0]} {number(abs(x.voltage))} V" for x in after.loads)
    if bench.out != "link out":
        return f"The resistor still conducts, so each keeps a voltage, which changes: {now}."
    return f"They share the voltage in a new ratio: {now}."


def drawing(lesson) -> list[Question]:
    """Return the questions on the constructions, each with the part of the lesson that it follows."""
    bench, asked = lesson.bench, []
    if "star-point" in lesson.drawn:
        lengths = ", ".join(
            f"{line} {number(abs(z - lesson.nameplate.neutral))} V"
            for line, z in lesson.nameplate.corners.items()
            if line in bench.lines
        )
        asked.append(
            Question(
                "draw",
                tell("Measure from N to {lines} and to the cross. How many volts are they?", lines=_listed(bench.lines)),
                3,
                f"{lengths}; to the cross {number(abs(lesson.nameplate.neutral))} V.",
                2,
            )
        )
    return asked


def _listed(names):
    return listed(names)


def surprise(lesson) -> list[Question]:
    """Return the question on lamps beside fixed resistors; none without lamps, or where both agree."""
    bench = lesson.bench
    fixed = {line: abs(lesson.nameplate.corners[line] - lesson.nameplate.neutral) for line in bench.lines}
    apart = {line: bench.volt(line, bench.after) - fixed[line] for line in bench.lines}
    if bench.kind != "lamp" or max(map(abs, apart.values())) < 0.02 * bench.volts:
        return []
    further = [
        line
        for line in bench.lines
        if abs(bench.volt(line, bench.after) - bench.volts) > abs(fixed[line] - bench.volts)
    ]
    if not further:
        return []
    return [
        Question(
            "surprise",
            tell("Which lamps are further from {volts} V than the fixed-resistor calculation gives? Why?", volts=plain(bench.volts)),
            3,
            f"{_listed(further)}. A filament that gets more than its rated voltage is hotter and has a higher resistance, one that "
            "gets less a lower one. That increases the difference.",
            3,
        )
    ]
