"""What can give a shock or set fire."""

from lostneutral.claims.model import Rank
from lostneutral.words.amounts import about, amount, at_places, between, exactly, listed, plain, to_figures, volts
from lostneutral.words.language import tell, to_tell
from lostneutral.words.said import Said
from lostneutral.words.terms import conductor, supply_neutral, upper, when
from lostneutral.words.times import duration

SWITCH = ("Opening the main switch need not clear it: the protective conductor is not switched, and others may be connected "
          "behind the same fault.")
CHANGES = "The value changes as soon as a load is switched."
EFFECTS = to_tell({"AC-1": "may just be felt", "AC-2": "makes muscles contract",
                   "AC-3": "may make it impossible to release the grip, with difficulty in breathing",
                   "AC-4": "may cause ventricular fibrillation, which kills"})
_WHY_METAL = to_tell({
    "transposed": "{conductors} are transposed at {point}",
    "pen open": "the PEN (combined neutral and protective conductor) in the cable to {point} is open",
    "pen joint": "the PEN (combined neutral and protective conductor) in the cable to {point} has a high-resistance joint",
    "pe broken": "its protective conductor is open or has a high-resistance joint",
    "separate": "{earthing}, provided the earthing is sound, which has not been verified",
    "no electrode": "no electrode or path ties it to earth in the case",
    "elsewhere": "nothing that ties it to earth is broken; the voltage comes from elsewhere",
})
_AND_SO = to_tell({
    "transposed": SWITCH, "pen open": SWITCH, "pen joint": SWITCH, "elsewhere": SWITCH,
    "pe broken": "A fault in any item of equipment can make it live, and no protective device need operate.",
    "separate": "Test before touching.", "no electrode": "Unearthed metalwork is unprotected.",
})
_ALSO = to_tell({"pen open": CHANGES, "pen joint": CHANGES})
_SEPARATE = to_tell({"TN-S": "neutral and protective conductor are separate from the source (TN-S)",
                     "TN-C-S": "neutral and protective conductor are already separate where the neutral is broken",
                     "TN-C": "neutral and protective conductor are already separate where the neutral is broken",
                     "TT": "the protective conductor goes to the installation's own earth electrode (TT)"})


def metalwork(claim, case):
    facts, cause = claim.facts, claim.facts["cause"]
    ref = facts["ref"] or ("",)
    why = tell(_WHY_METAL[cause], conductors=listed(ref[1:]) if len(ref) > 1 else "", point=ref[0],
               earthing=tell(_SEPARATE[facts["earthing"]]) if cause == "separate" else "")
    given = {"where": at_places(claim.where), "why": why, "when": when(claim)}
    little = cause in ("transposed", "pen open") and None not in (claim.value, claim.yardstick) and claim.value <= claim.yardstick.value
    if claim.value is None:
        lead = tell("Exposed metalwork{where} has no defined potential and can take any voltage up to that of a line: {why}.", **given)
    elif little:
        lead = tell("Exposed metalwork{where} has to be treated as live, though by calculation it would be at {figure} to remote earth{when}: "
                    "{why}.", **given, figure=about(claim.value, "V"))
    elif claim.rank is Rank.DANGER:
        lead = tell("Exposed metalwork{where} would be at up to {figure} to remote earth{when}: {why}.", **given,
                    figure=about(claim.value, "V"))
    else:
        lead = tell("Exposed metalwork{where} would be at {figure} to remote earth{when}: {why}.", **given, figure=about(claim.value, "V"))
    more = [tell(_AND_SO[cause]), *([tell(_ALSO[cause])] if cause in _ALSO else [])]
    if claim.rank is Rank.DANGER and claim.value is not None and not (little and (cause == "transposed" or volts(claim.value) == volts(0.0))):
        more.insert(0, tell("This is the prospective touch voltage: small between metal parts bonded together indoors, full to the ground "
                            "outdoors."))
    if facts["assumed_electrode"]:
        more.append(tell("No electrode of its own is given there: see the range for one."))
    return Said(tell("Exposed metalwork{where}", where=given["where"]), lead, " ".join(more),
                None if claim.value is None else volts(claim.value))


def earthing_unknown(claim, case):
    return Said(tell("Exposed metalwork{where}", where=""),
                tell("How this installation is earthed is not known: treat all exposed metalwork as live until a competent person has "
                     "shown otherwise."),
                tell("Where the neutral is also the earth, metal cases, pipes and taps can carry the voltage of the shifted neutral.")
                + f" {tell(SWITCH)}")


def person(claim, case):
    low, high = (to_figures(end) for end in claim.span)
    # Danger is told by its upper end: where the curve between two zones may be off, the worse one.
    zone = max([claim.facts["zone"], *(answer for found in claim.unverified for answer in found.answers)])
    figure, where, limited = tell("{low} to {high} mA", low=low, high=high), at_places(claim.where), claim.facts.get("ohms")
    by = "" if limited is None else tell(" The loads and conductors as given let no more through, with {ohms} in the way; a fault of insulation in one of "
                                         "them would take that away.", ohms=about(limited, "ohm"))
    return Said(tell("Person touching metalwork{where}", where=where),
                tell("A person touching metalwork{where} and standing on the ground outdoors may carry up to about {high} mA{when}: a "
                     "current that, as long as it lasts, {effect}.", where=where, high=high, when=when(claim), effect=tell(EFFECTS[zone])),
                tell("{figure} at {volts}, through a dry body from a hand to one foot, for 90 % of people; to both feet, with wet skin or "
                     "of a child: more. Zone {zone} at the high end. No protective device need operate. This is an indication; it does "
                     "not mean that touching is safe.", figure=figure, volts=about(claim.facts["volts"], "V"), zone=zone) + by, figure)


def between_metalwork(claim, case):
    a, b = claim.where[:2]
    return Said(tell("Metalwork of {a} and {b}", a=a, b=b),
                tell("There would be up to {figure} between metalwork earthed at {a} and metalwork earthed at {b}{when}.",
                     figure=about(claim.value, "V"), a=a, b=b, when=when(claim)),
                tell("Anyone able to touch both, or a pipe or cable screen that connects them, bridges it."), volts(claim.value))


def neutral_live(claim, case):
    where = at_places(claim.where)
    if claim.value is None:
        lead = tell("The neutral{where} has no defined potential and can take any voltage up to that of a line. It is a live conductor "
                    "and can give a fatal shock.", where=where)
    else:
        given = {"where": where, "figure": about(claim.value, "V"), "reference": supply_neutral(case), "when": when(claim)}
        lead = tell("The neutral{where} is a live conductor and can give a fatal shock, though with the loads as given it would be at {figure} to "
                    "{reference}{when}.", **given) if claim.yardstick and claim.value <= claim.yardstick.value else \
            tell("The neutral{where} would be at up to {figure} to {reference}{when}. It is a live conductor and can give a fatal shock.", **given)
    return Said(upper(tell("neutral{where}", where=where)), lead,
                tell("It is treated as dangerous whatever the value. The value changes as soon as a load is switched, so a low value "
                     "gives no assurance of safety."), None if claim.value is None else volts(claim.value))


def main_switch(claim, case):
    (point,), others = claim.where, claim.facts["others"]
    if not claim.facts["solved"]:
        lead = tell("What the open main switch of {point} would leave on its metalwork could not be calculated: treat it as live.", point=point)
    elif claim.value is None:
        lead = tell("With the main switch of {point} open nothing would hold its metalwork at earth: treat it as live.", point=point)
    elif not claim.facts["clears"]:
        lead = tell("Opening the main switch of {point} would not clear its metalwork: {figure} to remote earth would be left.",
                    point=point, figure=about(claim.value, "V"))
    else:
        lead = tell("Do not rely on the main switch of {point} to make its metalwork safe.", point=point)
    rest = tell("The protective conductor is not switched.")
    if claim.facts["clears"]:
        rest += " " + tell("With the loads there off, {figure} is calculated; but where others are connected behind the same fault, which "
                           "is not known until its place has been found, the metalwork stays live.", figure=about(claim.value, "V"))
    elif others and claim.facts["solved"]:
        rest += " " + tell("What keeps it live are the loads at {points}, behind the same fault.", points=listed(others[:3]))
    return Said(tell("Main switch{where}", where=at_places((point,))), lead, rest, None if claim.value is None else volts(claim.value))


def joint_heat(claim, case):
    given = {"conductor": conductor(claim.about), "point": claim.where[0], "ohms": amount(claim.facts["ohms"], "ohm"),
             "figure": about(claim.value, "W"), "when": when(claim)}
    if claim.rank is Rank.FIRE:
        lead = tell("Fire risk: the high-resistance joint ({ohms}) in the {conductor} of the cable to {point} would dissipate {figure}"
                    "{when}, more than the {limit} that a joint can dissipate without damage.", **given,
                    limit=amount(claim.yardstick.value, "W"))
    else:
        lead = tell("The high-resistance joint ({ohms}) in the {conductor} of the cable to {point} would dissipate {figure}{when}.",
                    **given)
    rest = [tell("It would carry {amps}; a sound joint dissipates almost nothing.", amps=about(claim.facts["amps"], "A"))]
    if claim.facts["at_first"]:
        rest.append(tell("At the current of the sound conductor it would dissipate {figure}.", figure=about(claim.facts["at_first"], "W")))
    if claim.rank <= Rank.WARNING:
        rest.append(tell("An overheating joint chars its insulation, can start a fire, and eventually opens."))
    else:
        rest.append(tell("That is little, but such a joint tends to get worse."))
    return Said(tell("Joint in the {conductor} of the cable to {point}", conductor=given["conductor"], point=given["point"]), lead,
                " ".join(rest), amount(claim.value, "W"))


def bond_heat(claim, case):
    name = claim.about.name
    return Said(tell("Current through the {path}", path=name),
                tell("{amps} through the {path} would warm a copper conductor of {area} mm² by {figure}: thin bonds, screens, pipe joints "
                     "and flexible hoses can burn, and set fire to adjacent parts.", amps=upper(about(claim.facts["amps"], "A")),
                     path=name, area=plain(claim.facts["area"]), figure=about(claim.value, "K")),
                tell("By its insulation's limit within {time} at the earliest.", time=duration(claim.facts["seconds"])),
                amount(claim.value, "K"))


def transposed(claim, case):
    a, b = claim.facts["conductors"]
    return Said(tell("{a} and {b} at {point}", a=a, b=b, point=claim.where[0]),
                tell("{a} and {b} are taken as transposed (crossed) where the cable arrives at {point}.", a=a, b=b, point=claim.where[0]),
                tell("Beyond it, what is called {a} is {b} and the other way round.", a=a, b=b))


def electrode_range(claim, case):
    low, high = claim.facts["ohms"]
    given = {"point": claim.where[0], "figure": between(*claim.span, "V")}
    if claim.rank is Rank.NOTE:
        lead = tell("No electrode is given for {point}: whatever it has, the metalwork there would be at {figure} to remote earth, as long as there is one.", **given)
    elif claim.rank is Rank.DANGER:
        lead = tell("No electrode is given for {point}: its metalwork would be at up to {figure} to remote earth, depending on it.", **given)
    else:
        lead = tell("No electrode is given for {point}: its metalwork would be at {figure} to remote earth, depending on it.", **given)
    rest = [tell("How it is earthed is not given: shown as if TN-C-S.")] if claim.facts["as_if"] else []
    ends = {"low": plain(low), "high": plain(high)}
    if claim.facts["without"] is None:
        rest.append(tell("Calculated for an electrode from {low} to {high} Ω, all other paths to earth as given.", **ends))
    else:
        rest.append(tell("Calculated for an electrode from {low} to {high} Ω, and {figure} with none, all other paths to earth as given.",
                         **ends, figure=about(claim.facts["without"], "V")))
    if claim.rank is not Rank.NOTE:
        rest.append(tell("The worst decides. Which value holds cannot be known without measuring the electrode and every metallic path."))
    return Said(tell("Touch voltage{where}", where=at_places(claim.where)), lead, " ".join(rest), exactly(*claim.span, "V"))


def charging_point(claim, case):
    where = at_places(claim.where)
    return Said(tell("Charging point{where}", where=where),
                tell("A vehicle on charge outdoors{where} would be at up to {figure} to the ground if its earth came from this supply.",
                     where=where, figure=about(claim.value, "V")),
                tell("That is above the limit for charging points with the PEN open. A device that monitors only line to neutral may not "
                     "detect it."), volts(claim.value))


def diverted(claim, case):
    paths = claim.facts["paths"]
    shown = "; ".join(
        tell("{path} {amps} ({percent} % of what the broken conductor carried)", path=name, amps=about(i, "A"), percent=f"{100 * part:.0f}")
        if part else f"{name} {about(i, 'A')}" for name, i, part in paths[:5])
    if len(paths) > 5:
        shown = tell("{paths}; and {number} more", paths=shown, number=len(paths) - 5)
    return Said(tell("Alternative return paths"),
                tell("Diverted neutral current{when}: {paths}.", when=when(claim), paths=shown),
                tell("It flows even with those premises switched off. Anyone disconnecting such a path (pipe, bond) may be exposed to the "
                     "full voltage across the gap."), amount(claim.value, "A"))
