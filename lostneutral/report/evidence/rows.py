"""The rows and sentences of a deduction, for terminal and document alike."""

from math import inf, isinf

from lostneutral import data
from lostneutral.case.checks_seen import uncertainty
from lostneutral.evidence import likelihood
from lostneutral.evidence.assumed import supply_left_open, unmeasured, usual_supply
from lostneutral.evidence.scale import NOT_EXPLAINED, PLAYS, support
from lostneutral.report.base.cautions import SAFE_WAY
from lostneutral.report.base.words import NOTHING, number, significant
from lostneutral.report.evidence.recorded import times_words
from lostneutral.report.evidence.verdict import BESIDE, LEVEL, about_ratio, ratio_words, share_words
from lostneutral.report.ranges.rows import ohms_words, percent_words, probability_words, unknown_rows
from lostneutral.studies.recorded import all_observations
from lostneutral.words.language import tell
from lostneutral.words.times import duration

SHOWN = 12  #: rivals in the table
POOR = 0.1  #: doubt from which an observation fits poorly
AGAINST = "A line-to-neutral reading outside its range given the observations would count against it."
SETTLED = 0.97  #: posterior probability from which no other cause is asked about
WELL, HARDLY = 0.5, 0.2  #: of what a reading could tell of the two leading causes: above, below it says so (two readings one deviation apart tell 0.17)
EITHER = "no support either way"
NOT_NOTED = "not recorded"
TITLE = "Comparison of possible causes"
PURPOSE = ("This compares how far the observations support one cause against another, under the assumptions that are "
           "listed. It "
           "does not say that the first cause is the true one, that no other is possible, or who is responsible.")


def rival_rows(found):
    """Return (cause, prior, posterior, likelihood ratio of the best fitting cause to it, support for that one)."""
    made = []
    for w in found.rivals[:SHOWN]:
        words = EITHER if w.against < LEVEL else support(w.against).removesuffix(" support")
        words = "fits best" if w.against <= 1 else words
        made.append((w.words, probability_words(w.prior), share_words(w), ratio_words(w.against), words))
    rest = found.rivals[SHOWN:]
    if rest:
        made.append((f"others ({len(rest)})", probability_words(sum(w.prior for w in rest)),
                     probability_words(sum(w.posterior for w in rest)), NOTHING, NOTHING))
    return tuple(made)


def kind_rows(found):
    """Return (kind, prior, posterior, likelihood ratio to all other kinds, in words)."""
    return tuple((k.words, probability_words(k.prior), probability_words(k.posterior), ratio_words(k.ratio),
                  EITHER if k.support == support(1.0) else f"{k.support}{'' if k.ratio >= 1 else ' against it'}")
                 for k in found.kinds)


def item_rows(found):
    """Return (names of the rivals held side by side, rows (observation, what each gives and whether it fits))."""
    beside = found.rivals[:BESIDE]
    return tuple(w.words for w in beside), tuple(
        (observation, *(fit_words(w.fits[k]) for w in beside)) for k, observation in enumerate(found.observations))


def fit_words(fit):
    """Return what a rival gives for an observation, and whether it fits."""
    gives = "" if fit.middle is None and fit.likely is None else \
        f"{number(fit.low, 0)} to {number(fit.high, 0)} V{f' to {fit.second}' if fit.second else ''}: " if fit.likely is None else \
        f"probability {probability_words(fit.likely)}: "
    return gives + ("does not fit" if fit.doubtful > NOT_EXPLAINED else "fits poorly" if fit.doubtful > POOR else "fits")


def voltage_rows(found):
    """Return (line, point, 5 %, 50 %, 95 %) of the voltages given what was seen, V."""
    return tuple((line, point, *(number(v, 0) for v in volts)) for point, line, *volts in found.voltages)


def known_rows(found):
    """Return (what was unknown, as assumed, given the observations)."""
    made = []
    for k in found.unknowns:
        if k.unit:
            each = [f"{significant(v[0])} to {significant(v[2])} {k.unit}" for v in (k.before, k.after)]
        else:
            each = [f"on: {probability_words(v[0])}" for v in (k.before, k.after)]
        made.append((k.name, *(text.replace(" ohm", " Ω") for text in each)))
    return tuple(made)


def together_words(found):
    """Return the likeliest positions of several unknown switches together, or an empty text."""
    switches, share = found.together
    if len(switches) < 2:
        return ""
    said = ", ".join(f"{name} {'on' if on else 'off'}" for name, on in switches)
    return f"The most probable combination: {said} ({probability_words(share)})."


def beside_the_case(result):
    """Return how the fault that the case names, on which a report is, compares with the cause that fits best."""
    best = min(result.deduction.rivals, key=lambda w: w.against)
    stated = [(b.feeding, b.conductor, "open neutral" if isinf(b.resistance) else "bad joint") for b in result.case.breaks_after()]
    own = next((w for w in result.deduction.rivals if stated == [(w.at, "N", w.kind)] and not result.case.crosses), None)
    if own is best:
        return tell("This page considers the fault that the case names. Of the possible causes compared, the observations fit this one "
                    "best. See “Comparison of possible causes”.")
    if own is not None and own.against < LEVEL:
        return tell("This page considers the fault that the case names. Of the possible causes compared, the observations do not "
                    "distinguish between this one and “{cause}”. See “Comparison of possible causes”.", cause=best.words)
    ratio = "" if own is None else tell(" (likelihood ratio {ratio}, {support})", ratio=about_ratio(own.against),
                                         support=tell(support(own.against)))
    return tell("This page considers the fault that the case names. Of the possible causes compared, the observations fit another "
                "better: “{cause}”{ratio}. See “Comparison of possible causes”.", cause=best.words, ratio=ratio)


def left_out_rows(found):
    """Return (observation, leading cause without it, its probability then and with all) of every observation."""
    called = {k.kind: k.words for k in found.kinds}
    enough = data.load("evidence")["enough"]["value"]
    return tuple((row.words, "too few samples to say", NOTHING, NOTHING) if row.effective < min(enough, found.samples / 2) else
                 (row.words, called[row.first], probability_words(row.posterior), probability_words(row.was))
                 for row in found.left_out)


def prior_words(found):
    """Return what the prior probabilities do to the answer."""
    (kind, share), called = found.level_priors, {k.kind: k.words for k in found.kinds}
    said = [(f"With equal priors for all kinds of cause, “{called[kind]}” leads, with a posterior probability of "
             f"{probability_words(share)}.")]
    if len(found.kinds) > 1 and not isinf(found.turns_at):
        said.append(f"“{found.kinds[1].words}” would be equally probable with “{found.kinds[0].words}” if its prior "
                    "odds were "
                    f"{about_ratio(found.turns_at)} times higher.")
    return tuple(said)


PAPERS = ("First papers and people, without touching anything: who switched or repaired what, and when; records of meters, inverters, "
          "chargers and the network operator; what was on.")
ALIVE = ("Last, if the above does not decide: readings on the circuit as it stands, by a competent person. Nothing is energised or switched "
         "for them, and no conductor is touched while the neutral or PEN is suspect.")


IN_ORDER = "Before any reading: papers and people, then tests isolated and proved dead (--full lists them)."


def next_steps(found):
    """Return what to do next, in this order: papers and people, dead tests, readings; none of them energises or switches."""
    return steps_in_order(list(dict.fromkeys(w.at for w in found.rivals[:BESIDE] if w.at and w.posterior > PLAYS)))


def steps_in_order(places):
    """Return the steps where the fault may be in the cables to the points `places`, for `where` and `deduce` alike."""
    cables = f" of the cable to {' and of that to '.join(places)}" if places else ""
    dead = (f"Then, isolated and proved dead, by a competent person: continuity of every conductor{cables}, resistance of the joints "
            "at both ends, insulation of N to PE, and the earth electrode.")
    return PAPERS, dead, ALIVE


def next_words(found, most=None, causes=4):
    """Return the readings that would decide most, each with what it would show under so many `causes`; and how to take them."""
    if not found.next_readings:
        if found.rivals[0].posterior > SETTLED:
            return (f"One cause leads so far that no reading is proposed to test it against the next. {AGAINST}", SAFE_WAY)
        return ("No single reading at a point would distinguish the two leading causes.",)
    made = []
    for reading in found.next_readings[:most]:
        shows = "; ".join(f"{f'{number(low, 0)} to {number(high, 0)} V' if middle is not None else 'floating'} "
                          f"({words})"
                          for words, low, middle, high in reading.expected[:causes])
        made.append(f"{'-'.join(reading.between)} at {reading.point}, on the circuit as it stands, by a {reading.instrument}; calculated: "
                    f"{shows}.{how_well(reading)}")
    return (*made, SAFE_WAY)


def how_well(reading):
    """Return how well a reading tells the two leading causes apart, where that is much or little."""
    if reading.strength > WELL:
        return " This reading would tell the two leading causes well apart."
    return " This reading alone would hardly tell the two leading causes apart." if reading.strength < HARDLY else ""


def log_rows(case):
    """Return (what was observed, when, who, with what, where kept) of every observation."""
    made = []
    for o in all_observations(case):
        d, when = o.details, "before the break" if likelihood.before(case, o) else "after the break"
        when += f", {times_words(d['times'], case.recordings[d['recording']].zero)}" if "times" in d else f", {duration(sum(b - a for a, b in d['spans']))} in all" if "spans" in d else \
            f", at {d['time']:g} s" if "time" in d else ""
        tool = NOTHING
        if o.is_reading:
            given = "" if o.uncertainty else " (assumed)"
            tool = f"{d.get('instrument', NOT_NOTED)}; ± {significant(uncertainty(o), figures=2)} V{given}"
            tool += f"; {' or '.join(d['instrument_class'])}" if "instrument_class" in d else ""
            tool += f"; {ohms_words(d['impedance'])}" if "impedance" in d else ""
        what = likelihood.words(case, o) + (f" ({d['note']})" if d.get("note") else "")
        made.append((what, when, d.get("observer", NOT_NOTED), tool, d.get("kept", NOT_NOTED)))
    return tuple(made)


def assumed_rows(case, found):
    """Return (assumption, value, source) beyond the case."""
    table, where = data.load("evidence"), data.load("where")
    given = {p.cause for p in case.priors}
    known = lambda entry: f"{entry['source']} ({data.KNOWN[entry['known']]})"
    named = lambda kinds: ", ".join(f"{k.words} {probability_words(k.prior)}" for k in kinds if k.prior)
    parts = (("the case's [[prior]]", [k for k in found.kinds if k.kind in given]),
             (known(table["prior"]), [k for k in found.kinds if k.kind not in given]))
    made = [("prior probability of each kind of cause, shared equally by its places", named(kinds), why)
            for why, kinds in parts if named(kinds)]
    made += [(name, taken, "the case") for name, taken in unknown_rows(case)]
    if supply_left_open(case):
        law = usual_supply(case)
        made.append(("supply voltage, not given in the case",
                     f"normally distributed, mean {law.mean:g} V, standard deviation {law.deviation:g} V",
                     known(table["usual_supply"])))
    if any(e.changeover for e in case.events):
        made.append(("changeover", "in its first position, whatever it moved to", "this program: causes are weighed on the supply"))
    electrodes = unmeasured(case)
    if electrodes is not None:
        law = electrodes.electrode
        none = f"; none at all: {percent_words(electrodes.none)}" if electrodes.none else ""
        made.append((f"earth electrode that nobody measured ({', '.join(electrodes.points[:3])}"
                     f"{' …' if electrodes.points[3:] else ''})",
                     f"{law.low:g} to {law.high:g} Ω, uniform on a logarithmic scale{none}", known(table["electrode"])))
    joint, high = table["bad_joint"], table["overvoltage"]
    made += _coupling_rows() + [
        ("resistance of a high-resistance joint, if not given in the case",
         f"{joint['low']:g} to {joint['high']:g} Ω, uniform on a logarithmic scale", known(joint)),
        ("overvoltage of the whole supply", f"{high['low']:g} to {high['high']:g} × nominal", known(high)),
        ("erroneous reading", percent_words(table["slip"]["value"]), known(table["slip"])),
        ("minimum standard uncertainty of a reading", f"{table['least_uncertainty']['value']:g} V",
         known(table["least_uncertainty"])),
        ("reliability of a statement about a load", percent_words(where["seen"]["trust"]), known(where["seen"])),
        ("protective device that did as its standard says, told rightly", percent_words(table["device"]["value"]), known(table["device"])),
        ("what is told as happening with the beginning of the fault", f"up to {duration(table['order']['value'])} after it", known(table["order"])),
        ("time a load was exposed, if not given", duration(table["exposure"]["value"]), known(table["exposure"])),
        ("failures within the limits of a failure estimate", f"{percent_words(table['life']['bounds'])} of devices",
         known(table["life"])),
        ("words for a change of light or heat, and for none: spread about their thresholds",
         f"{percent_words(table['blur']['change'])} and {percent_words(table['blur']['off'])} of the voltage", known(table["blur"])),
        ("a cause that is not listed", f"any reading up to {table['not_listed']['highest']:g} V alike, any word alike",
         known(table["not_listed"])),
        ("verbal scale", "likelihood ratios 2, 10, 100, 1000, 10 000, 1 000 000",
         f"{table['scale']['source']}, {table['scale']['edition']} ({data.KNOWN[table['scale']['known']]})")]
    return tuple(made)


def _coupling_rows():
    """What sets the potential of a conductor that nothing else ties down; shared by all readings on it."""
    made = []
    for name, entry in data.load("couplings").items():
        if "low" not in entry:
            continue
        what = entry["name"].format(line="each line")
        ends = [ohms_words(entry[end]) if entry["unit"] == "ohm" else f"{entry[end]:g}" for end in ("low", "high")]
        unit = "" if entry["unit"] == "ohm" else f" {entry['unit']}"
        made.append((what, f"{' to '.join(ends)}{unit}, uniform on a logarithmic scale",
                     f"{entry['source']} ({data.KNOWN[entry['known']]})"))
        if name == "leak_line":
            meters = data.load("couplings")["instrument"]
            made.append((meters["name"], ", ".join(f"{ohms_words(ohms)} ({percent_words(share)})" for ohms, share
                                                   in zip(meters["ohms"], meters["weights"])),
                         f"{meters['source']} ({data.KNOWN[meters['known']]})"))
            made.append(("least standard uncertainty by class of instrument", ", ".join(
                f"{kind} {volts:g} V + {percent_words(share)}" for kind, volts, share in zip(meters["classes"], meters["volts"], meters["share"])),
                f"{meters['source']} ({data.KNOWN[meters['known']]})"))
    return made


def asked_rows(found):
    """Return (cause, lowest and highest line-to-neutral voltage of any phase, metalwork) given everything observed, V."""
    return tuple((a.cause or "all causes together", _range(a.lowest), _range(a.highest),
                  _range(a.metalwork) if a.metalwork else NOTHING) for a in found.asked)


def asked_words(case, found):
    """Return the lowest and highest line-to-neutral voltage and metalwork given everything observed, in sentences; or nothing."""
    if not found.asked:
        return ""
    over_all = found.asked[0]
    metal = f" {_metalwork_words(case, over_all.metalwork[2])}" if over_all.metalwork else ""
    return (f"Given everything observed, over all causes: highest line-to-neutral voltage {_range(over_all.highest)} V, lowest "
            f"{_range(over_all.lowest)} V (5 to 95 %).{metal}")


def _metalwork_words(case, highest):
    """Return what exposed metalwork may be at, from the upper end of its range (V; inf: nothing that is known holds it)."""
    if highest == inf:
        return "Exposed metalwork may have no defined potential: it can then take any voltage up to that of a line."
    if number(highest, 0) == "0":
        return "Exposed metalwork: 0 V to earth, provided the earthing is sound, which has not been verified."
    return f"Exposed metalwork: up to {number(highest, 0)} V to earth{', depending on earth electrodes that nobody measured' * bool(unmeasured(case))}."


def phases_asked_rows(found):
    """Return (cause, line, its lowest, its highest voltage to neutral at any point) given everything observed, V."""
    return tuple((a.cause or "all causes together", line, _range(low), _range(high)) for a in found.asked for line, low, high in a.phases)


def _range(ends):
    low, middle, high = ("not defined" if v == inf else number(v, 0) for v in ends)
    return middle if low == "not defined" else f"{middle} ({low} to {high})"


def turning_words(found):
    """Return which of the assumptions would turn the conclusion."""
    if not found.turning:
        return ("No assumption of this list would turn the conclusion within its range; of the priors see above.",)
    return tuple(f"{t.assumption}, {t.setting}: then “{t.leads}” would lead." for t in found.turning)


def not_weighed_rows():
    """Return (cause, indications for it, indications against it) of causes outside this model."""
    return tuple((row["cause"], row["for"], row["against"]) for row in data.load("evidence")["not_weighed"])


def not_weighed_words():
    """Return what the causes outside this model mean to the conclusion, and how their signs are known."""
    signs = data.load("evidence")["signs"]
    return ("Some causes are not considered in this comparison; they are to be examined by other evidence. "
            f"Indications: {signs['source']} "
            f"({data.KNOWN[signs['known']]}).")


def method_words(found):
    """Return how it was computed, with what the reader needs to repeat it."""
    least = min((w.effective for w in found.rivals if w.posterior > PLAYS), default=0.0)
    worth = "all" if isinf(least) else f"{least:.0f}"
    first = (f"{len(found.rivals)} possible causes, {found.samples} samples per step, seed {found.seed}; the leading "
             "causes rest on "
             f"at least {worth} effective samples. ± is one standard error of sampling.")
    said = [first]
    if found.singly:
        said.append(f"{', '.join(found.singly)} can give more than one stable solution: all that were found count "
                    "equally, and "
                    "fewer samples were taken.")
    if found.runs_tried:
        said.append(f"The neutral of {found.runs_tried} cables was tried, chosen by a first comparison closest together where the "
                    "observations fit and tell neighbours apart; like premises of a stretch between them were taken together.")
    if found.looked:
        said.append(f"{found.looked} of the causes were far from fitting in a first trial with a few samples, and "
                    "were not pursued "
                    "further.")
    if found.unsolved > 0.001:
        said.append(f"For up to {percent_words(found.unsolved)} of a cause's samples no stable solution was found, "
                    "for example where "
                    "loads shut down and restart repeatedly; they were left out, as if they fitted as the others do.")
    return tuple(said)


def missing(case, found):
    """Return what nobody has recorded or observed yet, and what should be kept."""
    made, seen = [], all_observations(case)
    for o, row in zip(seen, log_rows(case)):
        keys = (("who observed it", "observer"), ("where the evidence is kept", "kept"))
        lacks = [name for name, key in keys if key not in o.details]
        if o.is_reading:
            lacks += [name for name, there in (("the instrument", {"instrument", "instrument_class"} & o.details.keys()), ("its uncertainty", o.uncertainty))
                      if not there]
        if lacks:
            made.append(f"{row[0]}: no record of {', '.join(lacks)}.")
    taken = [o for o in seen if o.is_reading]
    if not any("N" in o.between and {"PE", "earth"} & set(o.between) for o in taken):
        made.append("No reading of N to earth or to the protective conductor.")
    if not any(likelihood.before(case, o) for o in seen):
        made.append("Nothing was observed or read before the break.")
    switches = [k.name for k in found.unknowns if not k.unit and 0.1 < k.after[0] < 0.9]
    if switches:
        made.append(f"Not known; ask, and look for traces: on or off: {', '.join(switches)}.")
    places = dict.fromkeys(w.at for w in found.rivals[:BESIDE] if w.at and w.posterior > PLAYS)
    if places:
        made.append(f"Both ends of the cable to {' and of that to '.join(places)}: photograph them, have a competent "
                    "person open "
                    "them when isolated and proved dead, and keep the joint, labelled, before anything is repaired.")
    return tuple(made)
