"""What a voltage does to each load: the likeliest outcome, how soon, how sure, and which part to look for."""

from dataclasses import replace

import numpy as np

from lostneutral import data
from lostneutral.case.model import Case, Load
from lostneutral.circuit.solution import LoadResult, Solution, State
from lostneutral.consequences.limits import Band, band, cite, verdict
from lostneutral.consequences.wear import laws_of, worst_law
from lostneutral.frozen import dataclass
from lostneutral.loads import catalogue, load_model
from lostneutral.loads.base import Low

_DATA = data.load("harm")
OUTCOMES = ("unharmed", "shortened life", "fails in days", "fails in hours", "fails in minutes", "fails in seconds")
"""From best to worst, of a load at its rated voltage or above."""
LOW_OUTCOMES = ("works weakly", "dim", "gives no light", "does not run", "goes on and off", "runs in reverse", "runs hot",
                "stalls", "stalls and overheats")
OTHER_OUTCOMES = ("not known", "was off")
HARMLESS = ("unharmed", "was off", "works weakly", "dim", "gives no light", "does not run", "runs in reverse")
"""Outcomes after which nothing is broken."""
IN_A_CYCLE = -1
CONFIDENCE = _DATA["confidence"]
"""Grade of confidence -> what it means."""


@dataclass(frozen=True)
class Harm:
    """What one load comes to if a settled state lasts, new and with no protection acting.

    Times (s) count from the break; None where none of them is this side of an ordinary life. A load that survives is
    as much a result as one that fails.
    """

    load: str
    outcome: str  #: one of OUTCOMES, LOW_OUTCOMES, OTHER_OUTCOMES
    earliest: float | None = None  #: s
    central: float | None = None
    latest: float | None = None
    confidence: str = "good"  #: a key of CONFIDENCE
    part: str = ""  #: the failed part to expect
    mode: str = ""  #: "open" | "short" | "" of that part
    basis: str = ""  #: the law, its source, how it is known
    life_rate: float | None = None  #: 1/s, share of life used per second (central)
    solution: int = 0  #: which of `after.solutions`; IN_A_CYCLE where the circuit does not settle
    burns: str = ""  #: what of it may burn: a varistor, a winding
    volts: float | None = None  #: V, of a cycle: the voltage that was judged
    protected: str = ""  #: would an overvoltage device have acted before it: see `protection.acted_before_harm`

    @property
    def fails(self):
        return self.outcome.startswith("fails") or self.outcome == "stalls and overheats"


def harms(case: Case, before: State, after: State) -> tuple[Harm, ...]:
    """Return the harm of every load in every settled state of `after`, in their order and the case's.

    Several settled states of which none is arrived at give several harms of one load; `Harm.solution` tells which. A
    circuit that goes on and off for ever gives those of its cycle.
    """
    from lostneutral.consequences.protection import acted_before_harm

    cycle = in_a_cycle(case, after)
    if cycle:
        return tuple(harm for harm, _ in cycle)
    limits = band(case.supply.limits)
    models = [load_model(load, case.supply)[0] for load in case.loads]
    made = []
    for number, solution in enumerate(after.solutions):
        for load, model, seen in zip(case.loads, models, solution.loads):
            harm = replace(harm_of(load, model, felt(load, seen), limits), solution=number)
            made.append(replace(harm, protected=acted_before_harm(case, solution, load, harm)))
    return tuple(made)


def felt(load: Load, seen: LoadResult) -> LoadResult:
    """Return `seen` at the sine that fills its d.c. link as high, where its voltage is none (`details["as_sine"]`, V)."""
    volts = seen.details.get("as_sine")
    return seen if volts is None else replace(seen, voltage=complex(volts), ratio=volts / load.voltage)


def in_a_cycle(case: Case, after: State) -> tuple[tuple[Harm, LoadResult], ...]:
    """Return (harm, load at the voltage that does it) of every load of a circuit that does not settle; () if it does.

    Taken is the worse of the highest and the lowest voltage of the cycle. Times are those of the whole of it: of each of its "levels" for as much
    of a turn as it lasts; where it has none, those at that voltage as if it lasted. Loads that the cycle does not name are left out.
    """
    limits, made = band(case.supply.limits), []
    ranges = (after.cycle or {}).get("loads", {})
    for load in (load for load in case.loads if load.name in ranges):
        model = load_model(load, case.supply)[0]
        both = []
        swing = ranges[load.name]
        for end, volts in (("highest", swing.get("as_sine", swing["highest"])), ("lowest", swing["lowest"])):
            harm, seen = harm_at(load, model, volts, limits)
            both.append((replace(harm, solution=IN_A_CYCLE, volts=swing[end],
                                 basis=f"{harm.basis}; at the {end} voltage of the cycle"), seen))
        harm, seen = max(both, key=lambda pair: (pair[0].fails, pair[0].outcome not in HARMLESS, pair[0].life_rate or 0.0))
        made.append((_over_a_turn(load, model, harm, swing.get("levels"), limits), seen))
    return tuple(made)


def _over_a_turn(load, model, harm, levels, limits):
    """Return `harm` with its times if each of `levels` (V, share of the turn) lasts for its share; without levels as it is."""
    if not levels or harm.central is None:
        return harm
    met = [(share, harm_at(load, model, volts, limits)[0]) for volts, share in levels]
    rates = {key: sum(share / getattr(one, key) for share, one in met if getattr(one, key)) for key in ("earliest", "central", "latest")}
    times = {key: 1 / rate if rate else None for key, rate in rates.items()}
    if times["central"] is None:
        return harm
    outcome = (outcome_in(times["central"]) or "shortened life") if harm.outcome.startswith("fails") else harm.outcome
    return replace(harm, outcome=outcome, life_rate=rates["central"], **times)


def harm_at(load: Load, model, volts: float, limits: Band, backward=False) -> tuple[Harm, LoadResult]:
    """Return what `volts` (V) across `load`, of `model`, does to it once settled, and the load as it then is; of several ports an array.

    `backward`: transposed lines turn it the other way.
    """
    sizes = np.asarray(volts, float) if np.ndim(volts) else model.sizes(volts)
    across = float(np.max(sizes))
    rests, state = _at_rest(model, sizes)
    told = {k: np.asarray(v).item() for k, v in rests.describe(state, sizes).items()} | ({"backward": True} if backward else {})
    seen = LoadResult(load.name, load.connect, load.on, complex(across), None, None, None, across / load.voltage, told)
    return harm_of(load, model, seen, limits), seen


def _at_rest(model, sizes):
    """Return `model` in the first of its modes that lasts at the voltages (V) of its ports, as it is where none does, and its
    settled state."""
    for mode in model.resting:
        one = model.in_mode(mode)
        state = one.settled(sizes)
        if np.all(one.margin(state, sizes) > 0):
            return one, state
    return model, model.settled(sizes)


def harm_of(load: Load, model, seen: LoadResult, limits: Band) -> Harm:
    """Return what the voltage in `seen` does to `load`, of `model`, if it lasts; `limits` is the supply's band.

    Above rated the outcome never improves as the voltage rises. Laws, sources and how each is known: ``harm.toml``.
    """
    if not load.on:
        return Harm(load.name, "was off", basis="it was switched off; what stands by in it is not judged")
    if seen.voltage is None:
        return Harm(load.name, "not known", confidence="none", basis="nothing ties its voltage down")
    made = _in_its_direction(load, model, seen, limits)
    if made.outcome == "unharmed" and seen.branches and verdict(seen.together / load.voltage, limits) == "under":
        low = Low("dim") if "light" in seen.details else model.low(seen.together / load.voltage, seen.details)
        return made if low is None else _low(load, replace(low, basis="not all of the three branches have their voltage"))
    if seen.details.get("backward") and made.outcome in ("unharmed", "works weakly"):
        return replace(made, outcome="runs in reverse", basis="two of its lines are transposed; what it drives is not judged")
    return made


def _in_its_direction(load, model, seen, limits):
    low = _too_little(load, model, seen, limits)
    if low is not None:
        return low
    laws = laws_of(load, model)
    if not laws:
        return _no_law(load, seen, limits)
    return _from_laws(load, model, laws, seen, limits)


def _from_laws(load, model, laws, seen, limits):
    voltage = abs(seen.voltage)
    met = model.met(voltage, seen.details)
    state = model.settled(met)
    ends = [_ending(law, law.rates(met, model, state), law.lag(met, model, state)) for law in laws]
    outcome, law, (early, central, late), lag = max(ends, key=lambda end: (OUTCOMES.index(end[0]), end[2][1], end[2][0]))
    entry = law.data
    beyond_label = outcome == "unharmed" and voltage > model.labelled_to
    if beyond_label:
        outcome, entry = "shortened life", _DATA["window"]
    acts = "" if outcome == "unharmed" else _protector(model, met)
    harm = Harm(load.name, outcome, confidence=_confidence(entry, seen.ratio), basis=basis(entry) + acts,
                life_rate=max(float(end[2][1]) for end in ends))
    if outcome == "unharmed":
        return _within(load, limits, harm.life_rate) if verdict(seen.ratio, limits) == "within" else harm
    ordinary = max(law.usual * _DATA["outcome"]["shortened_above"], 1 / _DATA["outcome"]["never"])
    times = [None if beyond_label or rate <= ordinary else float(1 / rate) + lag for rate in (early, central, late)]
    return replace(harm, part=law.data["part"], mode=law.data["mode"], burns=law.data.get("burns", ""),
                   **dict(zip(("earliest", "central", "latest"), times)))


def _ending(law, rates, lag):
    """Return (outcome, law, rates, lag) of one law of wear."""
    outcome = _outcome(1 / rates[1] + lag, rates[1] / law.usual) if rates[1] else "unharmed"
    early = rates[0] > law.usual * _DATA["outcome"]["shortened_above"] and 1 / rates[0] < _DATA["outcome"]["days"]
    return "shortened life" if outcome == "unharmed" and early else outcome, law, rates, lag


def outcome_in(seconds: float) -> str | None:
    """Return the outcome of a load that fails after `seconds`, "fails in hours" and the like; None beyond days."""
    return next((f"fails in {unit}" for unit in ("seconds", "minutes", "hours", "days")
                 if seconds < _DATA["outcome"][unit]), None)


def _outcome(seconds, wear):
    return outcome_in(seconds) or ("shortened life" if wear > _DATA["outcome"]["shortened_above"] else "unharmed")


def _confidence(entry, ratio):
    if "confidence" in entry:
        return entry["confidence"]
    return entry["near"] if entry["valid_from"] <= ratio <= entry["valid_to"] else entry["far"]


def basis(entry) -> str:
    """Return what a law rests on, for print: the law, its source, how it is known."""
    return f"{entry['law']}; {cite(entry)}; {data.KNOWN[entry['known']]}"


def _within(load, limits, rate=None):
    return Harm(load.name, "unharmed", basis=f"its voltage is within the tolerance of {limits.name}", life_rate=rate)


def _no_law(load, seen, limits):
    part = catalogue.appliance(load.parameters["model"]).fails if load.kind == "appliance" else ""
    if verdict(seen.ratio, limits) != "over":
        return _within(load, limits)
    rated = (catalogue.resolve(load).parameters.get("power") or 0.0) * load.count
    does = "takes" if (seen.power or 0.0) >= 0 else "feeds in"
    times = f"; it {does} {abs(seen.power) / rated:.2f} times its rated power" if rated and seen.power is not None else ""
    return Harm(load.name, "not known", confidence="none", part=part,
                basis=f"no law of wear for this kind of load{times} at {seen.ratio:.2f} times its rated voltage")


def _too_little(load, model, seen, limits):
    """Return the harm of too low a voltage, or None where the voltage is not too low."""
    word = verdict(seen.ratio, limits)
    if word == "dead":
        return _low(load, Low("does not run"))
    stopped = model.stopped(abs(seen.voltage), seen.details)
    if stopped is not None and stopped.outcome == "stalls":
        return _stalled(load, model, seen, stopped)
    if stopped is not None and word != "over":
        return _low(load, stopped)
    if stopped is not None:  # what has gone off by too high a voltage still meets it: its laws of wear, where it has any, go on
        return None if laws_of(load, model) else replace(
            _no_law(load, seen, limits), basis=f"{stopped.basis}, and still meets the voltage, for which it has no law of wear")
    if word != "under":
        return None
    if "light" in seen.details:
        from lostneutral.consequences.equipment import brightness

        light = brightness(seen.details["light"])
        return _low(load, Low({"out": "gives no light", "dimmer": "dim"}.get(light, "unharmed")))
    low = model.low(seen.ratio, seen.details)
    return None if low is None else _low(load, low)


def _low(load, low):
    return Harm(load.name, low.outcome, confidence=low.confidence, part=low.part, basis=low.basis)


def _stalled(load, model, seen, low):
    stalled = model.in_mode("stalled")
    met = stalled.met(abs(seen.voltage), seen.details)
    law, rates = worst_law(laws_of(load, model), met, stalled)
    if law.entry != "motor_stalled":
        return _low(load, low)
    entry, acts = law.data, _protector(stalled, met)
    return Harm(load.name, "stalls and overheats", *(float(1 / r) for r in rates), entry["confidence"], entry["part"],
                entry["mode"], basis(entry) + acts, float(rates[1]))


def _protector(model, met):
    seconds = model.protector_acts(met)
    if seconds == np.inf:
        return ""
    return f"; its own overload protector, which is left out of account, would open after about {seconds:.0f} s"


def of_solution(result_harms, after: State, solution: Solution) -> dict[str, Harm]:
    """Return {load: harm} of one of `after.solutions`."""
    number = next((n for n, s in enumerate(after.solutions) if s is solution), None)
    return {h.load: h for h in result_harms if h.solution == number}
