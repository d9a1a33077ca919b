"""Entries of the case file for what was photographed and tested."""

from typing import Annotated

from pydantic import Field

from lostneutral.case.values import Allowed, Entry, Name, Title, Truth, When


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
