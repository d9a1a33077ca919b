"""Conductor colours as printed, and what a reader must beware of."""

import pytest

from lostneutral.consequences.colours import colour_countries, colour_note, conductor_colours
from lostneutral.data import KNOWN
from lostneutral.errors import UsageError

ORDER = ("L1", "L2", "L3", "N", "PE")

# Published, secondary unless marked: one row a scheme as the tables of national practice print it.
PRINTED = [
    ("UK", 0, "red yellow blue black green-yellow"), ("UK", 1, "brown black grey blue green-yellow"),
    ("US", 0, "black red blue white green"), ("US", 1, "brown orange yellow grey green"),
    ("US", 2, "black orange red white green"), ("Canada", 0, "red black blue white green"),
    ("Australia and New Zealand", 0, "red white dark black green-yellow"),
    ("Continental Europe", 0, "black black black blue green-yellow"),
    ("China", 0, "yellow green red light green-yellow"),
    ("Russia, Ukraine and Kazakhstan", 0, "yellow green red light green-yellow"),
    ("Norway", 0, "black white brown blue yellow"), ("South Africa", 0, "red yellow blue black green"),
    ("Malaysia", 0, "red yellow blue black green"), ("India", 0, "red yellow blue black green"),
    ("Singapore", 0, "red yellow blue black green"), ("Hong Kong", 0, "red yellow blue black green"),
]


@pytest.mark.parametrize(("country", "row", "colours"), PRINTED, ids=[f"{c} {n}" for c, n, _ in PRINTED])
def test_scheme_as_printed(country, row, colours):
    scheme = conductor_colours(country)[row]
    assert [scheme[c].split()[0].rstrip(",") for c in ORDER] == colours.split()
    assert scheme["known"] == KNOWN["2"]


def test_old_germany():  # published, two secondary sources: colours until 1965
    scheme = conductor_colours("Germany")[0]
    assert [scheme[c] for c in ("L1", "L2", "L3", "N", "PE", "PEN")] == ["black", "red", "blue", "grey", "red", "grey"]
    assert (scheme["period"], scheme["known"]) == ("until 1965", KNOWN["2"])


def test_every_country_is_checked():
    assert set(colour_countries()) == {row[0] for row in PRINTED} | {"Germany"}


def test_the_uk_trap():  # published, secondary: blue was a line and is the neutral, black the other way round
    old, new = conductor_colours("UK")
    assert old["L3"] == new["N"] == "blue"
    assert old["N"] == new["L2"] == "black"
    assert "Blue was a line" in colour_note("UK")


@pytest.mark.parametrize("country", colour_countries())
def test_old_stands_before_present(country):
    ages = [scheme["age"] for scheme in conductor_colours(country)]
    assert ages == sorted(ages, key=("old", "present").index)


def test_an_unknown_country_names_those_there_are():
    with pytest.raises(UsageError, match="no conductor colours for 'Utopia' — one of: UK, US"):
        conductor_colours("Utopia")
