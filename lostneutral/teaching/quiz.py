"""Beliefs about the lost neutral, to be called true or false, with answers in the figures of the case."""

from itertools import combinations

from lostneutral import data
from lostneutral.circuit.states import before_and_after
from lostneutral.consequences.pulses import trusted
from lostneutral.report.words import number, significant
from lostneutral.teaching.bench import line_powers, plain_star, with_way_back
from lostneutral.teaching.figures import main_point
from lostneutral.teaching.star import ADDS_UP, NotAStar, broken_run


def questions(result):
    """Return (belief, answer) of every belief in data file `lesson`, filled with the figures of `result`.

    Where the case lacks a figure that an answer needs, or does not bear it out, the general answer stands. What is no
    error
    in this case (split-phase, or currents in pulses) is not asked.
    """
    known = facts(result)
    return tuple(
        (entry["says"].format_map(_general(result, known)), _answer(entry, known))
        for entry in data.load("lesson")["belief"]
        if not (
            entry.get("three_phase_only")
            and result.case.supply.system != "three-phase"
            or entry.get("sines_only")
            and trusted(result)
        )
    )


def _answer(entry, known):
    try:
        return entry["answer"].format_map(known)
    except KeyError:
        return entry["general"]


def _general(result, known):
    """Return the figures for the beliefs themselves: the case's own where there are any, else those of its supply."""
    supply = result.case.supply
    lines = list(supply.lines)[:2]
    usual = {
        "nominal": supply.nominal,
        "between": number(supply.nominal_line_to_line, 0),
        "first": lines[0],
        "second": lines[-1],
        "first_volts": number(supply.nominal, 0),
        "second_volts": number(supply.nominal, 0),
        "plain_volts": number(2 * supply.nominal, 0),
        "plain_amps": "",
    }
    return usual | known


def facts(result) -> dict:
    """Return {name of a brace in the data file: figure in words}, of what can be worked out for the case.

    Volts and amperes of the settled state arrived at; the rod, the leak and the equal loads are solved as cases of
    their own,
    from the nameplates.
    """
    case, after = result.case, result.after.reached
    found = {"nominal": case.supply.nominal}
    if after is None:
        return found
    point = main_point(case)
    volts = {line: abs(v) for line in case.point(point).phases if (v := after.voltage(point, line)) is not None}
    if volts:
        found["volts_after"] = ", ".join(f"{line} {number(v, 0)} V" for line, v in volts.items())
    if case.supply.system == "three-phase":
        found["between"] = number(case.supply.nominal_line_to_line, 0)
    return (
        found
        | _pair(after, point, volts, case)
        | _unlike(volts, case)
        | _currents(result)
        | _other_stars(case, after, point)
    )


def _pair(after, point, volts, case):
    # The pair whose plain sum is furthest from the voltage between them shows the error best.
    if case.supply.system != "three-phase" or len(volts) < 2:
        return {}
    apart = {pair: abs(after.between(*((point, line) for line in pair))) for pair in combinations(volts, 2)}
    first, second = max(apart, key=lambda pair: round(sum(volts[line] for line in pair) - apart[pair], 6))
    return {
        "first": first,
        "second": second,
        "first_volts": number(volts[first], 0),
        "second_volts": number(volts[second], 0),
        "plain_volts": number(round(volts[first]) + round(volts[second]), 0),
        "pair_volts": number(apart[first, second], 0),
    }


def _unlike(volts, case):
    try:
        powers = line_powers(case)
    except NotAStar:
        return {}
    most, least = max(powers, key=powers.get), min(powers, key=powers.get)
    if powers[most] < 1.1 * powers[least] or not {most, least} <= volts.keys() or volts[least] < 1.02 * volts[most]:
        return {}
    return {
        "heaviest": most,
        "lightest": least,
        "heaviest_volts": number(volts[most], 0),
        "lightest_volts": number(volts[least], 0),
    }


def _currents(result):
    before, after, run = result.before.reached, result.after.reached, broken_run(result.case)
    if before is None:
        return {}
    lines = result.case.point(run).phases
    was, now = ([s.currents.get((run, line)) for line in lines] for s in (before, after))
    back = before.currents.get((run, "N"))
    if None in (*was, *now, back) or max(map(abs, was)) == 0.0:
        return {}
    most_was, most_now = max(map(abs, was)), max(map(abs, now))
    found = (
        {"amps_before": significant(most_was), "amps_after": significant(most_now)} if most_now < 1.3 * most_was else {}
    )
    if abs(sum(was) + back) < ADDS_UP * most_was and sum(map(abs, was)) > 1.01 * most_was:
        found |= {"plain_amps": f", {significant(sum(map(abs, was)))} A", "neutral_amps": significant(abs(back))}
    return found


def _other_stars(case, after, point):
    try:
        powers = line_powers(case)
    except NotAStar:
        return {}
    lesson, volts = data.load("lesson"), case.supply.nominal
    rod, leak, first = lesson["rod"], lesson["leak"]["value"], next(iter(case.supply.lines))
    star = plain_star(case.supply, volts, powers)
    equal = plain_star(case.supply, volts, dict.fromkeys(case.supply.lines, max(powers.values())))
    leaking = plain_star(case.supply, volts, powers | {first: powers.get(first, 0.0) + leak * volts})
    found = {"equal_volts": number(max(abs(load.voltage) for load in before_and_after(equal)[1].reached.loads), 0)}
    stands, moved = _shift(star), after.nodes.get((point, "N"))
    by_leak = abs(_shift(leaking) - stands)
    if moved is None or abs(stands) < 5 * by_leak:
        return found
    larger = max(1.0, rod["least_load"] / sum(powers.values()))
    house = plain_star(case.supply, volts, {line: larger * watts for line, watts in powers.items()})
    return found | {
        "rod_ohms": rod["value"],
        "rod_watts": number(larger * sum(powers.values()), 0),
        "open_volts": number(abs(stands), 0),
        "rod_volts": number(abs(_shift(with_way_back(house, rod["value"]))), 0),
        "leak_milliamps": 1e3 * leak,
        "leak_volts": significant(by_leak, figures=2),
        "shift": number(abs(moved), 0),
        "first": first,
    }


def _shift(case):
    return before_and_after(case)[1].reached.nodes["bench", "N"]
