"""Impedance of a cable's conductors from length, area, material and temperature."""

from lostneutral import data


def sizes(material="copper", conductor_class=2):
    """Return the standard areas (mm²) of `material` ("copper" or "aluminium"), rising: IEC 60228:2004, Tables 1 to 3.

    >>> sizes("aluminium")[:3]
    (10.0, 16.0, 25.0)
    """
    return tuple(_table(material, conductor_class))


def resistance(length, area, material="copper", temperature=20.0, conductor_class=2, formula="exact"):
    """Return the resistance (ohm) of one conductor: the largest that IEC 60228 allows.

    R = R20 · length / 1000 · k(temperature), with R20 (ohm/km) by IEC 60228:2004, Tables 1 to 3. The exact k is
    (t0 + t) / (t0 + 20) with t0 = 234.5 °C for copper and 228 °C for aluminium; the approximate one is
    1 + 0.004 · (t − 20), up to 0.4 % away (both Annex B).

    Parameters
    ----------
    length : float, m
    area : float, mm², one of `sizes(material)`
    material : "copper" or "aluminium"
    temperature : float, °C, of the conductor; the formulas are meant for about −40 to 250 °C
    conductor_class : 1 (solid), 2 (stranded), 5 or 6 (flexible, copper only)
    formula : "exact" or "approximate"

    Raises ValueError for a size, material or class that is not in the table.

    16 mm² copper, 25 m, at 20 °C and at 70 °C:

    >>> round(resistance(25.0, 16.0), 5)
    0.02875
    >>> round(resistance(25.0, 16.0, temperature=70.0), 4)
    0.0344
    """
    table = _table(material, conductor_class)
    if area not in table:
        raise ValueError(f"{area:g} mm² is not a size of class {conductor_class} {material} in IEC 60228: "
                         + ", ".join(f"{a:g}" for a in table))
    constant = data.load("conductors")["temperature"][formula][material]
    if formula == "exact":
        factor = (constant + temperature) / (constant + 20.0)
    else:
        factor = 1.0 + constant * (temperature - 20.0)
    return table[area] * length / 1000.0 * factor


def reactance(length, frequency=50.0):
    """Return the reactance (ohm) of one conductor of a multicore cable of `length` (m) at `frequency` (Hz).

    A fixed 0.08 ohm/km at 50 Hz: common practice, for want of the cable's make-up.

    >>> round(reactance(1000.0, 60.0), 3)
    0.096
    """
    return data.load("conductors")["reactance"]["value"] * length / 1000.0 * frequency / 50.0


def _table(material, conductor_class):
    """Return {area: ohm/km} of one column."""
    resistances = data.load("conductors")["resistance"]
    # Classes 5 and 6 share one column, as do aluminium's 1 and 2.
    shared = {("copper", 6): 5, ("aluminium", 1): 2}.get((material, conductor_class), conductor_class)
    column = f"{material} {shared}"
    if column not in resistances["columns"]:
        raise ValueError(f"IEC 60228 has no column for class {conductor_class} {material}")
    place = resistances["columns"].index(column)
    return {row[0]: row[place] for row in resistances["rows"] if len(row) > place}
