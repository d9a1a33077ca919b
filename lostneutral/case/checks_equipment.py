"""What must hold for electronic loads and motors, and for appliances by name."""

from lostneutral import data
from lostneutral.case.faults import closest, quoted, show
from lostneutral.case.load_schema import COMMON, KINDS
from lostneutral.case.meant import everyday


def behind(context, path, load):
    """Return the entry that stands behind `load`: itself, or what an appliance is by the catalogue and its own keys.

    None, with a fault, if the catalogue has no such appliance.
    """
    if load.kind != "appliance":
        return load
    catalogue = {row["name"]: row for row in data.load("appliances")["appliance"]}
    row = catalogue.get(load.model)
    if row is None:
        context.faults.add((*path, "model"), f"{show(load.model)} is not in the catalogue",
                           "a name that `lostneutral loads` lists, such as " + quoted(catalogue, 6),
                           (everyday(load.model) or {}).get("model") or closest(load.model, catalogue))
        return None
    own = [key for key in KINDS[row["kind"]].model_fields if key not in COMMON]
    given = {key: getattr(load, key) for key in type(load).model_fields
             if key in load.model_fields_set and key not in (*COMMON, "model")}
    for key in given.keys() - set(own):
        context.faults.add((*path, key), f"does not apply to {show(load.model)}, whose kind is {row['kind']}",
                           "its keys are " + ", ".join(own), at="key")
    return KINDS[row["kind"]].model_construct(kind=row["kind"], connect=load.connect, **row["parameters"] | given)


def check_electronic(context, path, load):
    low, high = load.works_from, load.works_to
    usual = data.load("electronic")
    above = low if low is not None else usual["works_from"]["value"]
    if high is not None and high <= above:
        context.faults.add((*path, "works_to"), f"{high:g} is not above works_from, {above:g}",
                           "a working voltage range, in V")
    elif high is None and low is not None and low >= usual["works_to"]["value"]:
        context.faults.add((*path, "works_to"), "is missing",
                           f"required where works_from is {usual['works_to']['value']:g} V or more")
    check_switching(context, path, load, above)
    bound, branches = usual["front_end"]["corrected_from"], 3 if load.connect.startswith("L1-L2-L3") else 1
    corrected = load.front_end == "corrected" or (load.front_end is None and load.power / branches >= bound)
    for key in ("inlet_resistance", "bridge_drop", "leakage", "suppressor"):
        if corrected and getattr(load, key) is not None:
            context.faults.add((*path, key), 'does not apply to front_end "corrected"'
                               + ("" if load.front_end else f", the default from {bound:g} W"),
                               'leave it out, or front_end = "rectifier"', at="key")


def check_switching(context, path, load, works_from):
    """Voltages between which a load goes off and comes back leave room for each other; a start has its two keys."""
    if load.restarts_from is not None and load.restarts_from < works_from:
        context.faults.add((*path, "restarts_from"), f"{load.restarts_from:g} is below works_from, {works_from:g}",
                           "works_from or more, in V")
    again = max(works_from, load.restarts_from or 0.0)
    for key in ("cuts_out_above", "restarts_below"):
        value = getattr(load, key)
        if value is not None and value <= again:
            context.faults.add((*path, key), f"{value:g} is not above the voltage from which it restarts, {again:g}",
                               f"above {again:g}, in V")
    if load.restarts_below is not None and load.cuts_out_above is not None and load.restarts_below > load.cuts_out_above:
        context.faults.add((*path, "restarts_below"), f"{load.restarts_below:g} is above cuts_out_above, "
                           f"{load.cuts_out_above:g}", "cuts_out_above or less, in V")
    if (load.start_current is None) != (load.start_time is None):
        given, missing = ("start_time", "start_current") if load.start_current is None else ("start_current", "start_time")
        context.faults.add((*path, missing), f"is missing where {given} is given", "both or neither")


def check_charger(context, path, load):
    usual = data.load("converter")["charger"]["works_from"]["value"]
    check_switching(context, path, load, usual if load.works_from is None else load.works_from)


def check_discharge(context, path, load):
    usual = data.load("discharge")
    out, again = (usual[key]["value"] if getattr(load, key) is None else getattr(load, key)
                  for key in ("extinguishes_below", "restrikes_from"))
    if again < out:
        context.faults.add((*path, "restrikes_from" if load.restrikes_from is not None else "extinguishes_below"),
                           f"the arc would strike again from {again:g} and go out below {out:g}",
                           "restrikes_from at least extinguishes_below, in multiples of the rated voltage")


def check_harmonic(context, path, load):
    if load.orders is None:
        for key in ("shares", "angles"):
            if getattr(load, key) is not None:
                context.faults.add((*path, key), "is given without orders", "orders, shares and angles of equal number",
                                   at="key")
        return
    for number, order in enumerate(load.orders):
        if order in load.orders[:number]:
            context.faults.add((*path, "orders", number), f"{order} is already given", "every order only once")
    if load.shares is None:
        context.faults.add((*path, "shares"), "is missing", "one share for each order")
    for key in ("shares", "angles"):
        given = getattr(load, key)
        if given is not None and len(given) != len(load.orders):
            context.faults.add((*path, key), f"has {len(given)} values for {len(load.orders)} orders",
                               "as many as there are orders")


def check_range(context, path, load):
    if load.valid_from is not None and load.valid_to is not None and load.valid_from >= load.valid_to:
        context.faults.add((*path, "valid_to"), f"{load.valid_to:g} is not above valid_from, {load.valid_from:g}",
                           "a range, in multiples of the rated voltage")


SINGLE_PHASE = ("power_factor", "power_exponent", "reactive_exponent", "valid_from", "valid_to", "machine", "stalls_below")
THREE_PHASE = ("torque", "torque_exponent")


def check_motor(context, path, load):
    """A motor on three lines is a three-phase machine, with keys of its own."""
    check_range(context, path, load)
    three = load.connect.startswith("L1-L2-L3")
    left = [key for key in (SINGLE_PHASE if three else THREE_PHASE) if key in load.model_fields_set]
    if left and three:
        context.warn(f"{' and '.join(left)} of a motor on {load.connect}: left out of account, for such a motor is calculated by "
                     "its two sequence circuits")
    elif left:
        context.faults.add((*path, left[0]), f"does not apply to a motor on {load.connect}", 'connect = "L1-L2-L3"', at="key")
