"""The rows and sentences of a deduction, for terminal and document alike."""

from math import isinf

from lostneutral import data
from lostneutral.case.checks_seen import uncertainty
from lostneutral.evidence import likelihood
from lostneutral.evidence.deduce import NOT_EXPLAINED, support
from lostneutral.evidence.rivals import supply_left_open, usual_supply
from lostneutral.report.range_rows import percent_words, unknown_rows
from lostneutral.report.words import NOTHING, number, significant

SHOWN = 12  #: rivals in the table
BESIDE = 3  #: rivals that are held item by item
POOR = 0.1  #: doubt from which an observation fits poorly
AGAINST = "A line-to-neutral reading outside its range given what was seen would speak against it."
SETTLED = 0.97  #: share of the support from which no other cause is asked about
LEVEL = 2.0  #: likelihood ratio below which nothing is supported
NOT_NOTED = "not noted"
PURPOSE = ("This says how far what was seen supports one cause against another, under the assumptions that are listed. It "
           "does not say that the first cause is the true one, that no other is possible, or whose doing it was.")
SAFE_WAY = ("Readings are for a competent person with a two-pole detector or a meter of the right category, one hand at a "
            "time, all metalwork treated as live. Do not switch loads on for a reading, and do not open a joint that may "
            "carry load: isolate first.")


def verdict(found):
    """Return the conclusion in one or two sentences: support for one cause against another, and no more."""
    first, *others = found.rivals
    rival = next((w for w in others if w.kind != first.kind), None)
    kind = found.kinds[0]
    said = [f"What was seen gives {kind.support} (likelihood ratio {ratio_words(kind.ratio)}) for the kind of cause "
            f"“{kind.kind}” against all other kinds together." if kind.ratio >= LEVEL else
            "What was seen supports no kind of cause against the others."]
    said.append(f"With the likelihoods beforehand that are listed, “{first.words}” has {share_words(first)} of the support.")
    alike = [w.words for w in others if w.kind == first.kind and w.evidence * LEVEL > first.evidence and w.posterior > 0.01]
    if alike:
        said.append(f"Where it was is not decided: {_quoted(alike)} fit{'s' * (len(alike) == 1)} as well.")
    if rival is not None:
        against = (rival.evidence and first.evidence / rival.evidence) or float("inf")
        if against < 1 / LEVEL:
            said.append(f"“{rival.words}” fits what was seen better, likelihood ratio {ratio_words(1 / against)} "
                        f"({support(1 / against)}), but was taken as less likely beforehand.")
        elif against < LEVEL:
            said.append(f"It is not decided between that and “{rival.words}”: the likelihood ratio of the two is "
                        f"{ratio_words(against)}.")
        else:
            said.append(f"Next of another kind comes “{rival.words}”, likelihood ratio {ratio_words(against)} "
                        f"({support(against)} for the first).")
    if found.unexplained:
        said.append(f"Not explained by this model under any cause: {'; '.join(found.unexplained)}. Doubt the reading, its "
                    "terminals or its time, or look for something that the case does not have.")
    return tuple(said)


def _quoted(names):
    return ", ".join(f"“{name}”" for name in names[:BESIDE]) + (f" and {len(names) - BESIDE} more" if len(names) > BESIDE else "")


def ratio_words(ratio):
    """Return a likelihood ratio with as many figures as it can bear."""
    return "beyond a million" if ratio > 1e6 else "below a millionth" if 0 <= ratio < 1e-6 else significant(ratio, figures=2)


def share_words(weighed):
    """Return a rival's share of the support with its sampling error."""
    error = 100 * weighed.posterior_error
    return f"{_percent(weighed.posterior)}" + (f" ± {significant(error, figures=1)}" if error >= 0.05 else "")


def rival_rows(found):
    """Return (cause, beforehand, afterwards, likelihood ratio of the best fitting cause to it, support for that one) of the first rivals."""
    made = []
    for w in found.rivals[:SHOWN]:
        words = "fits best" if w.against <= 1 else support(w.against).removesuffix(" support")
        made.append((w.words, _percent(w.prior), share_words(w), ratio_words(w.against), words))
    rest = found.rivals[SHOWN:]
    if rest:
        made.append((f"{len(rest)} more", _percent(sum(w.prior for w in rest)), _percent(sum(w.posterior for w in rest)),
                     NOTHING, NOTHING))
    return tuple(made)


def kind_rows(found):
    """Return (kind, beforehand, afterwards, likelihood ratio to all other kinds, in words)."""
    return tuple((k.kind, _percent(k.prior), _percent(k.posterior), ratio_words(k.ratio),
                  f"{k.support}{'' if k.ratio >= 1 or k.support == support(1.0) else ' against it'}") for k in found.kinds)


def item_rows(found):
    """Return (names of the rivals held side by side, rows (observation, what each gives and whether it fits))."""
    beside = found.rivals[:BESIDE]
    return tuple(w.words for w in beside), tuple(
        (observation, *(fit_words(w.fits[k]) for w in beside)) for k, observation in enumerate(found.observations))


def fit_words(fit):
    """Return what a rival gives for an observation, and whether it fits."""
    gives = "" if fit.middle is None and fit.likely is None else \
        f"{number(fit.low, 0)} to {number(fit.high, 0)} V: " if fit.likely is None else f"chance {_percent(fit.likely)}: "
    return gives + ("does not fit" if fit.doubtful > NOT_EXPLAINED else "fits poorly" if fit.doubtful > POOR else "fits")


def voltage_rows(found):
    """Return (line, point, 5 %, 50 %, 95 %) of the voltages given what was seen, V."""
    return tuple((line, point, *(number(v, 0) for v in volts)) for point, line, *volts in found.voltages)


def known_rows(found):
    """Return (what was unknown, as said beforehand, given what was seen)."""
    made = []
    for k in found.unknowns:
        if k.unit:
            each = [f"{significant(v[0])} to {significant(v[2])} {k.unit}" for v in (k.before, k.after)]
        else:
            each = [f"on: {_percent(v[0])}" for v in (k.before, k.after)]
        made.append((k.name, *each))
    return tuple(made)


def together_words(found):
    """Return the likeliest positions of several unknown switches together, or an empty text."""
    switches, share = found.together
    if len(switches) < 2:
        return ""
    said = ", ".join(f"{name} {'on' if on else 'off'}" for name, on in switches)
    return f"Taken together, the likeliest: {said} ({_percent(share)})."


def beside_the_case(result):
    """Return how the first cause stands to the fault that the case names and that the rest of a report works out."""
    first = result.deduction.rivals[0]
    stated = [(b.feeding, b.conductor, "open neutral" if isinf(b.resistance) else "bad joint") for b in result.case.breaks_after()]
    own = next((w for w in result.deduction.rivals if stated == [(w.at, "N", w.kind)] and not result.case.crosses), None)
    said = "This page works out the fault that the case names. Of the rival causes, what was seen gives "
    if own is first:
        said += f"most support to this one ({share_words(first)})"
    elif own is not None and own.posterior * LEVEL > first.posterior:
        said += f"this one {share_words(own)} of the support, and “{first.words}” as much or more ({share_words(first)})"
    else:
        said += f"most support to another: “{first.words}” ({share_words(first)})"
    return f"{said}. See “Rival causes weighed”."


def left_out_rows(found):
    """Return (observation, what comes first without it, its support then and with all) of every observation."""
    enough = data.load("evidence")["enough"]["value"]
    return tuple((row.words, "too few samples to say", NOTHING, NOTHING) if row.effective < min(enough, found.samples / 2) else
                 (row.words, row.first, _percent(row.posterior), _percent(row.was)) for row in found.left_out)


def prior_words(found):
    """Return what the likelihoods beforehand do to the answer."""
    kind, share = found.level_priors
    said = [f"With every kind of cause as likely beforehand as any other, “{kind}” comes first, with {_percent(share)}."]
    if len(found.kinds) > 1 and not isinf(found.turns_at):
        said.append(f"“{found.kinds[1].kind}” would draw level with “{found.kinds[0].kind}” if, beforehand, the odds between them "
                    f"were {ratio_words(found.turns_at)} times those taken here.")
    return tuple(said)


def next_words(found):
    """Return the readings that would decide most, each with what it would show; and how to take them."""
    if not found.next_readings:
        if found.rivals[0].posterior > SETTLED:
            return (f"Of the causes that were weighed one is left. {AGAINST}", SAFE_WAY)
        return ("No single reading at a point would tell the causes that are left apart.",)
    made = []
    for reading in found.next_readings:
        shows = "; ".join(f"{number(low, 0)} to {number(high, 0)} V if {words}" if middle is not None else
                          f"a floating value if {words}" for words, low, middle, high in reading.expected[:4])
        made.append(f"{'-'.join(reading.between)} at {reading.point}, with the loads as they were: {shows}. It is worth "
                    f"{number(reading.bits, 2)} of the {number(reading.of, 2)} bits that are open.")
    return (*made, SAFE_WAY)


def log_rows(case):
    """Return (what was observed, when, who, with what, where kept) of every observation."""
    made = []
    for o in case.observations:
        d, when = o.details, "before the break" if likelihood.before(o) else "after the break"
        when += f", at {d['time']:g} s" if "time" in d else ""
        tool = NOTHING
        if o.load is None:
            given = "" if o.uncertainty else " (assumed)"
            tool = f"{d.get('instrument', NOT_NOTED)}; ± {significant(uncertainty(o), figures=2)} V{given}"
            tool += f"; {d['impedance']:g} ohm" if "impedance" in d else ""
        made.append((likelihood.words(o), when, d.get("observer", NOT_NOTED), tool, d.get("kept", NOT_NOTED)))
    return tuple(made)


def assumed_rows(case, found):
    """Return (what was taken for granted, how much, why) beside the case."""
    table, where = data.load("evidence"), data.load("where")
    given = {p.cause for p in case.priors}
    known = lambda entry: f"{entry['source']} ({data.KNOWN[entry['known']]})"
    named = lambda kinds: ", ".join(f"{k.kind} {_percent(k.prior)}" for k in kinds if k.prior)
    parts = (("the case's [[prior]]", [k for k in found.kinds if k.kind in given]),
             (known(table["prior"]), [k for k in found.kinds if k.kind not in given]))
    made = [("likelihood of each kind of cause beforehand, shared by its places", named(kinds), why)
            for why, kinds in parts if named(kinds)]
    made += [(name, taken, "the case") for name, taken in unknown_rows(case)]
    if supply_left_open(case):
        law = usual_supply(case)
        made.append(("voltage of the supply, as the case says nothing of it",
                     f"normal, mean {law.mean:g} V, standard deviation {law.deviation:g} V", known(table["usual_supply"])))
    joint, high = table["bad_joint"], table["overvoltage"]
    made += [
        ("resistance of a bad joint, if the case does not say", f"{joint['low']:g} to {joint['high']:g} ohm, alike by ratio",
         known(joint)),
        ("overvoltage of the whole supply", f"{high['low']:g} to {high['high']:g} times nominal", known(high)),
        ("a reading that means something else", _percent(table["slip"]["value"]), known(table["slip"])),
        ("least standard deviation of a reading", f"{table['least_uncertainty']['value']:g} V",
         known(table["least_uncertainty"])),
        ("what was seen of a load is as said", _percent(where["seen"]["trust"]), known(where["seen"])),
        ("time a load was exposed, if not said", f"{table['exposure']['value']:g} s", known(table["exposure"])),
        ("bounds of a law of wear hold", f"{_percent(table['life']['bounds'])} of devices", known(table["life"])),
        ("scale of words", "likelihood ratios 2, 10, 100, 1000, 10 000, 1 000 000",
         f"{table['scale']['source']}, {table['scale']['edition']} ({data.KNOWN[table['scale']['known']]})")]
    return tuple(made)


def not_weighed_rows():
    """Return (cause, what speaks for it, what against it) of causes outside this model."""
    return tuple((row["cause"], row["for"], row["against"]) for row in data.load("evidence")["not_weighed"])


def not_weighed_words():
    """Return what the causes outside this model mean to the conclusion, and how their signs are known."""
    signs = data.load("evidence")["signs"]
    return (f"Not weighed here, to be excluded one by one by other evidence. Signs: {signs['source']} "
            f"({data.KNOWN[signs['known']]}).")


def method_words(found):
    """Return how it was computed, with what the reader needs to repeat it."""
    least = min((w.effective for w in found.rivals if w.posterior > 0.01), default=0.0)
    worth = "all" if isinf(least) else f"{least:.0f}"
    first = (f"{len(found.rivals)} rival causes, {found.samples} samples a step, seed {found.seed}; the first causes rest on at "
             f"least {worth} effective samples. ± is one standard error of sampling.")
    said = [first]
    if found.singly:
        said.append(f"{', '.join(found.singly)} may settle in several ways: every settled state that was found counts alike, "
                    "and fewer samples were taken.")
    if found.looked:
        said.append(f"{found.looked} of the causes were far from fitting at a first look at a few samples, and were taken no "
                    "further.")
    if found.unsolved > 0.001:
        said.append(f"For up to {_percent(found.unsolved)} of a cause's samples no settled state was found, as where loads cut off "
                    "and start again for ever; they were left out, as if they fitted as the others do.")
    return tuple(said)


def missing(case, found):
    """Return what nobody has noted or seen yet, and what should be kept."""
    made = []
    for o, row in zip(case.observations, log_rows(case)):
        lacks = [name for name, key in (("who saw it", "observer"), ("where it is kept", "kept")) if key not in o.details]
        if o.load is None:
            lacks += [name for name, there in (("the instrument", "instrument" in o.details), ("its uncertainty", o.uncertainty))
                      if not there]
        if lacks:
            made.append(f"{row[0]}: not noted is {', '.join(lacks)}.")
    taken = [o for o in case.observations if o.load is None]
    if not any("N" in o.between and {"PE", "earth"} & set(o.between) for o in taken):
        made.append("No reading of N to earth or to the protective conductor.")
    if not any(likelihood.before(o) for o in case.observations):
        made.append("Nothing was seen or read before the break.")
    switches = [k.name for k in found.unknowns if not k.unit and 0.1 < k.after[0] < 0.9]
    if switches:
        made.append(f"Still open, ask and look for traces: whether {', '.join(switches)} {'was' if len(switches) == 1 else 'were'} "
                    "on.")
    places = dict.fromkeys(w.at for w in found.rivals[:BESIDE] if w.at and w.posterior > 0.01)
    if places:
        made.append(f"Both ends of the run to {' and of that to '.join(places)}: photograph, have a competent person open "
                    "them isolated, and keep the joint, with its label, before anything is mended.")
    return tuple(made)


def _percent(share):
    return "below 0.1 %" if 0 < share < 0.001 else "above 99.9 %" if 0.999 < share < 1 else percent_words(share)
