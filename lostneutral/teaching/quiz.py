"""Statements on the readings of the bench version, to be called true or false; which they are is worked out from the readings."""

from hashlib import sha256

from lostneutral import data
from lostneutral.frozen import dataclass
from lostneutral.report.base.words import number
from lostneutral.teaching.bench import POINT, Bench, amp_words
from lostneutral.teaching.terms import terms
from lostneutral.words.language import tell

SAME = 0.02  #: of nominal; what differs by less is the same to a class's meters


@dataclass(frozen=True)
class Statement:
    says: str
    true: bool
    because: str  #: in figures of the readings


def statements(bench: Bench) -> tuple[Statement, ...]:
    """Return the statements of data file `lesson` that the readings of `bench` answer, in a mixed order of its own."""
    holds, words = facts(bench)
    made = [
        Statement(
            tell(entry["says"], **words),
            holds[entry["holds"]],
            entry["yes" if holds[entry["holds"]] else "no"].format_map(words),
        )
        for entry in data.load("lesson")["statement"]
        if holds[entry.get("asked", "always")]
    ]
    return tuple(sorted(made, key=lambda s: sha256(s.says.encode()).digest()))


def facts(bench: Bench) -> tuple[dict[str, bool], dict[str, object]]:
    """Return ({what `holds` or `asked` may name: whether it holds}, {name of a brace: figure}) of the readings."""
    supply, lines, nominal = bench.case.supply, bench.lines, bench.volts
    was, now = ({line: bench.volt(line, s) for line in lines} for s in bench.states)
    before, after = ({line: bench.amps(line, s) for line in lines} for s in bench.states)
    neutral, plain = bench.amps("N", bench.before), sum(before.values())
    between = abs(bench.after.voltage(POINT, *supply.lines[:2]))
    heavy, light = max(lines, key=bench.rated.get), min(reversed(lines), key=bench.rated.get)
    pair = abs(bench.after.voltage(POINT, heavy, light))
    shift = abs(bench.after.nodes[POINT, "N"])
    near = lambda a, b: abs(a - b) < SAME * nominal
    alike_loads = max(bench.rated.values()) < 1.01 * min(bench.rated.values())
    three = bench.system == "three-phase"
    holds = {
        "always": True,
        "never": False,
        "two": len(lines) > 1,
        "alike": all(near(v, now[light]) for v in now.values()),
        "unequal": not alike_loads,
        "alike_all": alike_loads and len(lines) == len(supply.lines),
        "smallest_highest": now[light] >= max(now.values()),
        "plain_sum": abs(neutral - plain) < SAME * plain,
        "fuses_carry": bench.largest_current < bench.fuse,
        "adds_up": near(now[heavy] + now[light], pair),
        "moved": shift > SAME * nominal,
        "no_neutral_current": neutral < SAME * plain,
        "keeps": all(near(v, was[line]) for line, v in now.items()),
    }
    figures = lambda values, unit: ", ".join(f"{line} {_figure(v, unit)}" for line, v in values.items())
    words = {
        "Out": tell("With the link out") if bench.out == "link out" else tell("With the resistor in place of the link"),
        "nominal": nominal,
        "volts_out": figures(now, "V"),
        "amps_out": figures(after, "A"),
        "first": supply.lines[0],
        "second": supply.lines[1],
        "between": number(between),
        "lightest": " and ".join(line for line in lines if bench.rated[line] < 1.001 * bench.rated[light]),
        "series": "The loads are in series between the lines." if bench.out == "link out"
        else "The loads draw from their lines, and the resistor carries what does not balance.",
        "together": "the two are in series, in phase" if bench.out == "link out" else "the two are in phase",
        "lightest_volts": number(now[light]),
        "highest": " and ".join(line for line in lines if now[line] > 0.999 * max(now.values())),
        "plain": amp_words(plain),
        "neutral": amp_words(neutral if neutral > 1e-3 * plain else 0.0),
        "adding": "Phasors 120° apart add head to tail." if three else "The two are in antiphase and subtract.",
        "fuse": bench.fuse,
        "most_amps": amp_words(max(after.values())),
        "heavy": heavy,
        "light": light,
        "heavy_volts": number(now[heavy]),
        "light_volts": number(now[light]),
        "pair": number(pair),
        "middle": tell(terms(bench.system).middle),
        "shift": number(shift),
    }
    return holds, words


def _figure(value, unit):
    return f"{number(value)} V" if unit == "V" else amp_words(value)
