"""Entries of the case file for what was photographed and tested."""

from typing import Annotated, Literal

from pydantic import Field

from lostneutral import data
from lostneutral.case.values import Allowed, Date, Entry, Name, Text, Title, Truth, When


class PhotoEntry(Entry):
    """A photograph as an exhibit: JPEG or PNG, beside the case file; a scaled copy is printed."""

    file: Name = Field(description="Name of the file, in the folder of the case file or below it")
    caption: Title = Field(description="What it shows")
    point: Name = Field(None, description="Point that it shows")
    load: Name = Field(None, description="Load that it shows")
    taken_by: Name = Field(None, description="Who took it")
    taken: When = Field(None, description="When it was taken, as its author states")
    keep_position: Truth = Field(False, description="Keep the geographical position that the file may hold")


class TestEntry(Entry):
    """A test result as the inspector recorded it."""

    circuit: Name = Field(description="Circuit or point that was tested")
    test: Name = Field(description="What was tested, such as continuity, insulation resistance or earth fault loop")
    value: Annotated[float | str, Allowed('a number, or text such as ">999"')] = Field(description="Value read")
    unit: Name = Field(None, description="Unit of the value")
    instrument: Name = Field(None, description="Instrument used")
    calibration: Name = Field(None, description="Its calibration: certificate and date")
    by: Name = Field(None, description="Who carried out the test, with qualification")
    date: When = Field(None, description="When the test was carried out")


COUNTRIES = tuple(data.load("emergency"))


class DocumentEntry(Entry):
    """Who asked for the report, who made it, of what; what is left out is a blank line to fill in by hand."""

    reference: Name = Field(None, description="Number or reference of the report")
    prepared_for: Name = Field(None, description="Client: whom the report is for")
    prepared_by: Name = Field(None, description="Author of the report")
    qualification: Name = Field(None, description="The author's qualification")
    organisation: Name = Field(None, description="The author's organisation")
    address: Name = Field(None, description="Address of the site")
    instruction: Text = Field(None, description="Instruction received: what was asked, by whom, when")
    incident: When = Field(None, description="Date of the incident, with the time in words if known")
    inspection: When = Field(None, description="Date of the inspection")
    report: Date = Field(None, description="Date of the report; default the date of the case")
    language: Literal["en", "de", "fr", "es"] = Field("en", description="Language of a client's report, its annex aside, and of a handout: English, "
                                                      "German, French or Spanish")
    country: Literal[*COUNTRIES] | None = Field(None, description="Country of the site, by its two-letter code (ISO 3166): whose "
                                                "emergency number is printed")
    premises: Name = Field(None, description="Point where the client's premises begin: a client's report lists what is there and beyond, "
                                             "and counts what is at other premises")
    paper: Literal["A4", "letter"] = Field("A4", description="Paper size")
    logo: Name = Field(None, description="JPEG or PNG file with the author's own mark, beside the case file")
