"""English: what can give a shock or set fire."""

from lostneutral.claims.model import Rank
from lostneutral.consequences.times import duration
from lostneutral.words.amounts import about, amount, between, listed, places, rounded, volts
from lostneutral.words.said import Said
from lostneutral.words.terms import conductor, supply_neutral, upper, when

SWITCH = ("Opening the main switch need not clear it: the protective conductor is not switched, and others may be connected "
          "behind the same fault")
CHANGES = "The value changes as soon as a load is switched"
EFFECTS = {"AC-1": "may just be felt", "AC-2": "makes muscles contract",
           "AC-3": "may make it impossible to release the grip, with difficulty in breathing",
           "AC-4": "may cause ventricular fibrillation, which kills"}


def metalwork(claim, case):
    where, facts = places(claim.where), claim.facts
    subject = f"Exposed metalwork{where}"
    if claim.value is None:
        height = "has no defined potential and can take any voltage up to that of a line"
    elif claim.rank is Rank.DANGER:
        height = f"would be at up to {about(claim.value, 'V')} to remote earth{when(claim)}"
    else:
        height = f"would be at {about(claim.value, 'V')} to remote earth{when(claim)}"
    why, more = {
        "transposed": lambda: (f"{listed(facts['ref'][1:])} are transposed at {facts['ref'][0]}", SWITCH),
        "pen open": lambda: (f"the PEN (combined neutral and protective conductor) in the cable to {facts['ref'][0]} is open",
                             f"{SWITCH}. {CHANGES}"),
        "pen joint": lambda: (f"the PEN (combined neutral and protective conductor) in the cable to {facts['ref'][0]} has a "
                              "high-resistance joint", f"{SWITCH}. {CHANGES}"),
        "pe broken": lambda: ("its protective conductor is open or has a high-resistance joint",
                              "A fault in any item of equipment can make it live, and no protective device need operate"),
        "separate": lambda: (f"{_SEPARATE[facts['earthing']]}, provided the earthing is sound, which has not been verified",
                             "Test before touching"),
        "no electrode": lambda: ("no electrode or path ties it to earth in the case", "Unearthed metalwork is unprotected"),
        "elsewhere": lambda: ("nothing between it and the supply is broken; the voltage comes from elsewhere", SWITCH),
    }[facts["cause"]]()
    if claim.rank is Rank.DANGER and claim.value is not None:
        more = ("This is the prospective touch voltage: small between metal parts bonded together indoors, full to the ground "
                f"outdoors. {more}")
    if facts["assumed_electrode"]:
        more += ". No electrode of its own is given there: see the range for one"
    return Said(subject, f"{subject} {height}: {why}.", f"{more}.", None if claim.value is None else volts(claim.value))


_SEPARATE = {"TN-S": "neutral and protective conductor are separate from the source (TN-S)",
             "TN-C-S": "neutral and protective conductor are already separate where the neutral is broken",
             "TN-C": "neutral and protective conductor are already separate where the neutral is broken",
             "TT": "the protective conductor goes to the installation's own earth electrode (TT)"}


def earthing_unknown(claim, case):
    return Said("Exposed metalwork", "How this installation is earthed is not known: treat all exposed metalwork as live until "
                "a competent person has shown otherwise.", "Where the neutral is also the earth, metal cases, pipes and taps "
                f"can carry the voltage of the shifted neutral. {SWITCH}.")


def person(claim, case):
    low, high = (rounded(end) for end in claim.span)
    figure = f"{low} to {high} mA"
    return Said(f"Person touching metalwork{places(claim.where)}",
                f"A person touching metalwork{places(claim.where)} and standing on the ground outdoors may carry up to about "
                f"{high} mA{when(claim)}: a current that, as long as it lasts, {EFFECTS[claim.facts['zone']]}.",
                f"{figure} at {about(claim.facts['volts'], 'V')}, through a dry body from a hand to one foot, for 90 % of people; "
                f"to both feet, with wet skin or of a child: more. Zone {claim.facts['zone']} at the high end. "
                "No protective device need operate. This is an indication; it does not "
                "mean that touching is safe.", figure)


def between_metalwork(claim, case):
    a, b = claim.where[:2]
    return Said(f"Metalwork of {a} and {b}", f"There would be up to {about(claim.value, 'V')} between metalwork earthed at {a} "
                f"and metalwork earthed at {b}{when(claim)}.", "Anyone able to touch both, or a pipe or cable screen that connects "
                "them, bridges it.", volts(claim.value))


def neutral_live(claim, case):
    subject = f"Neutral{places(claim.where)}"
    if claim.value is None:
        height = "has no defined potential and can take any voltage up to that of a line"
    else:
        height = f"would be at up to {about(claim.value, 'V')} to {supply_neutral(case)}{when(claim)}"
    return Said(subject, f"The neutral{places(claim.where)} {height}. It is a live conductor and can give a fatal shock.",
                f"It is treated as dangerous whatever the value. {CHANGES}, so a low value gives no assurance of safety.",
                None if claim.value is None else volts(claim.value))


def main_switch(claim, case):
    (point,), others = claim.where, claim.facts["others"]
    who = f"the loads at {listed(others[:3])}" if others else "others"
    if claim.value is None:
        lead = f"With the main switch of {point} open nothing would hold its metalwork at earth: treat it as live."
    elif not claim.facts["clears"]:
        lead = (f"Opening the main switch of {point} would not clear its metalwork: {about(claim.value, 'V')} to remote earth "
                "would be left.")
    else:
        lead = f"Do not rely on the main switch of {point} to make its metalwork safe."
    rest = "The protective conductor is not switched."
    if claim.facts["clears"]:
        rest += (f" With the loads there off, {about(claim.value, 'V')} is calculated; but where others are connected behind the "
                 "same fault, which is not known until its place has been found, the metalwork stays live.")
    elif others:
        rest += f" What keeps it live are {who}, behind the same fault."
    return Said(f"Main switch at {point}", lead, rest, None if claim.value is None else volts(claim.value))


def joint_heat(claim, case):
    name, ohms = conductor(claim.about), amount(claim.facts["ohms"], "ohm")
    where = f"in the {name} of the cable to {claim.where[0]}"
    lead = f"The high-resistance joint ({ohms}) {where} would dissipate {about(claim.value, 'W')}{when(claim)}"
    if claim.rank is Rank.FIRE:
        lead = f"Fire risk: {lead[0].lower()}{lead[1:]}, more than the {amount(claim.yardstick.value, 'W')} that a joint can " \
               "dissipate without damage"
    rest = f"It would carry {about(claim.facts['amps'], 'A')}; a sound joint dissipates almost nothing."
    if claim.facts["at_first"]:
        rest += f" At the current of the sound conductor it would dissipate {about(claim.facts['at_first'], 'W')}."
    rest += " An overheating joint chars its insulation, can start a fire, and eventually opens." if claim.rank <= Rank.WARNING \
        else " That is little, but such a joint tends to get worse."
    return Said(f"Joint {where}", f"{lead}.", rest, amount(claim.value, "W"))


def bond_heat(claim, case):
    name = claim.about.name
    return Said(f"Current through the {name}", f"{upper(about(claim.facts['amps'], 'A'))} through the {name} would warm a "
                f"copper conductor of {claim.facts['area']:g} mm² by {about(claim.value, 'K')}: thin bonds, screens, pipe joints and "
                "flexible hoses can burn, and set fire to adjacent parts.",
                f"By its insulation's limit within {duration(claim.facts['seconds'])} at the earliest.", amount(claim.value, "K"))


def transposed(claim, case):
    a, b = claim.facts["conductors"]
    return Said(f"{a} and {b} at {claim.where[0]}", f"{a} and {b} are taken as transposed (crossed) where the cable arrives at "
                f"{claim.where[0]}.", f"Beyond it, what is called {a} is {b} and the other way round.")


def electrode_range(claim, case):
    low, high = claim.facts["ohms"]
    as_if = "How it is earthed is not given: shown as if TN-C-S. " if claim.facts["as_if"] else ""
    without = "" if claim.facts["without"] is None else f", and {about(claim.facts['without'], 'V')} with none"
    top = "up to " if claim.rank is Rank.DANGER else ""
    return Said(f"Touch voltage{places(claim.where)}",
                f"No electrode is given for {claim.where[0]}: its metalwork would be at {top}{between(*claim.span, 'V')} to remote "
                f"earth, depending on it.",
                f"{as_if}Calculated for an electrode from {low:g} to {high:g} Ω{without}, all other paths to earth as given. The worst "
                "decides. Which value holds cannot be known without measuring the electrode and every metallic path.",
                between(*claim.span, "V").removeprefix("about "))


def charging_point(claim, case):
    where = places(claim.where)
    return Said(f"Charging point{where}", f"A vehicle on charge outdoors{where} would be at up to {about(claim.value, 'V')} to the "
                "ground if its earth came from this supply.", "That is above the limit for charging points with the PEN open. A "
                "device that monitors only line to neutral may not detect it.", volts(claim.value))


def diverted(claim, case):
    paths = claim.facts["paths"]
    shown = "; ".join(f"{name} {about(i, 'A')}" + (f" ({100 * part:.0f} % of what the broken conductor carried)" if part else "")
                      for name, i, part in paths[:5])
    more = f"; and {len(paths) - 5} more" if len(paths) > 5 else ""
    return Said("Alternative return paths", f"Diverted neutral current{when(claim)}: {shown}{more}.",
                "It flows even with those premises switched off. Anyone disconnecting such a path (pipe, bond) may be exposed to "
                "the full voltage across the gap.", amount(claim.value, "A"))
