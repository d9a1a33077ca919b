"""Entries of the case file for the wiring: points, groups of premises, and what is broken or crossed in it."""

from typing import Annotated, Literal

from pydantic import ConfigDict, Field

from lostneutral.case.values import (
    Allowed,
    Conductor,
    Entry,
    Impedance,
    JointResistance,
    Line,
    Name,
    Ohm,
    Share,
    number_between,
)


class CableEntry(Entry):
    """The cable that feeds a point: by length and size, or in ohms."""

    length: number_between("m", 0.0, 1e5) = Field(None, description="Length, m")
    area: number_between("mm²", 0.0, 1e4) = Field(None, description="Area of the line conductors, mm², a size of IEC 60228")
    material: Literal["copper", "aluminium"] = Field("copper", description="Conductor material")
    neutral_area: number_between("mm²", 0.0, 1e4) = Field(None, description="Area of the neutral, mm²; default `area`")
    pe_area: number_between("mm²", 0.0, 1e4) = Field(None, description="Area of the protective conductor, mm²; default `area`")
    temperature: number_between("°C", -40.0, 250.0) = Field(20.0, description="Conductor temperature, °C")
    line: Impedance = Field(None, description="Each line, [R, X] in ohm, instead of length and area")
    neutral: Impedance = Field(None, description="Neutral, [R, X] in ohm; default as the line")
    pe: Impedance = Field(None, description="Protective conductor, [R, X] in ohm; default as the neutral")


class PointEntry(Entry):
    """A place in the wiring, with the cable that feeds it."""

    name: Name = Field(description="Name of the point; must be unique")
    kind: Literal["joint", "intake", "board"] = Field(
        None, description="Default: intake if fed from the supply or a joint, else board")
    fed_from: Name = Field("supply", description='"supply" or the name of another point')
    cable: CableEntry = Field(None, description="The cable that feeds it; if omitted, no impedance")
    electrode: Ohm = Field(None, description="Local earth electrode, ohm; if omitted, none")
    phases: Annotated[list[Line], Field(min_length=1, max_length=3), Allowed('a list such as ["L1"] or ["L1", "L2"]')] \
        = Field(None, description="Lines connected here; default all lines of the point it is fed from")


class GroupLoadEntry(Entry):
    """A load of every premises of a group: the keys of a [[load]] without point, and its share."""

    model_config = ConfigDict(extra="allow")

    share: Share = Field(1.0, description="Proportion of the premises in which it is on, 0 to 1; spread evenly")


class GroupEntry(Entry):
    """Similar premises along a main, each fed from its own joint."""

    name: Name = Field(description='Names the premises "name 1", "name 2" … and the joints "name joint 1" …')
    count: Annotated[int, Field(ge=1, le=20_000), Allowed("a whole number from 1 to 20000")] = Field(
        description="Number of premises")
    fed_from: Name = Field("supply", description='Start of the main: "supply" or a joint')
    spacing: CableEntry = Field(None, description="The main from joint to joint; if omitted, no impedance")
    service: CableEntry = Field(
        None, description="The service cable from its joint to each premises; if omitted, no impedance")
    phases: Literal["single", "all"] = Field(
        "single", description='"single": one line to each premises, in rotation; "all": all lines to each')
    electrode: Ohm = Field(None, description="Earth electrode of each premises, ohm; if omitted, none")
    main_electrode: Ohm = Field(None, description="Earth electrode at joints of the main, ohm; if omitted, none")
    main_electrode_every: Annotated[int, Field(ge=1), Allowed("a whole number of 1 or more")] = Field(
        1, description="Spacing of electrodes along the main, in joints")
    load: list[GroupLoadEntry] = Field([], description="Loads of every premises; L in connect is the line of the "
                                                       "premises, with all lines the next in rotation; default L-N")


class PathEntry(Entry):
    """A metallic path between earth terminals, such as a pipe or a cable screen."""

    start: Name = Field(alias="from", description="Point whose earth terminal it is connected to")
    end: Name = Field(alias="to", description='Another point, or "earth"')
    resistance: Ohm = Field(description="Resistance, ohm")


class BreakEntry(Entry):
    """A break or a high-resistance joint, present before time 0."""

    fuse: Line = Field(None, description="Instead of a cable: the high-voltage fuse of this line, before the transformer")
    feeding: Name = Field(None, description="The cable, named by the point it feeds; default the first point")
    conductor: Conductor = Field("N", description="Broken conductor; N, or PEN where neutral and earth are combined")
    resistance: JointResistance = Field(
        "open", validate_default=True, description='"open", or the resistance in ohm; 0 = sound')


class CrossEntry(Entry):
    """Two conductors transposed (crossed) where the cable arrives at a point."""

    point: Name = Field(None, description="The point; may be omitted if there is only one")
    conductors: Annotated[list[Conductor], Field(min_length=2, max_length=2),
                          Allowed('two different conductors, such as ["L1", "N"]')] \
        = Field(description="The two conductors that are transposed")
