"""Groups: like premises along a main, spread out into points and loads."""

import pytest

from lostneutral.case.editors import case_schema
from lostneutral.case.reader import parse_case
from lostneutral.errors import CaseError

HEAD = 'title = "t"\n[supply]\nearthing = "TN-C-S"\n'
GROUP = """[[group]]
name = "cottage"
count = 7
spacing = { line = [0.01, 0.0] }
service = { line = [0.02, 0.0] }
electrode = 40.0
main_electrode = 20.0
main_electrode_every = 3
load = [
  { name = "heater", kind = "resistive", power = 2000, share = 0.43 },
  { name = "lamps", kind = "lamp", power = 60, count = 3 },
]
"""


def group(text=GROUP, head=HEAD):
    return parse_case(head + text)


def test_the_same_case_written_out_is_the_same():
    """Invariant: a group is shorthand, nothing more."""
    case = group(GROUP.replace("count = 7", "count = 2").replace("0.43", "1.0").replace("every = 3", "every = 2"))
    written = group("""
[[point]]
name = "cottage joint 1"
kind = "joint"
cable = { line = [0.01, 0.0] }
[[point]]
name = "cottage 1"
fed_from = "cottage joint 1"
cable = { line = [0.02, 0.0] }
electrode = 40.0
phases = ["L1"]
[[point]]
name = "cottage joint 2"
kind = "joint"
fed_from = "cottage joint 1"
cable = { line = [0.01, 0.0] }
electrode = 20.0
[[point]]
name = "cottage 2"
fed_from = "cottage joint 2"
cable = { line = [0.02, 0.0] }
electrode = 40.0
phases = ["L2"]
""" + "".join(f"""
[[load]]
name = "heater, cottage {k}"
kind = "resistive"
power = 2000
connect = "L{k}-N"
point = "cottage {k}"
[[load]]
name = "lamps, cottage {k}"
kind = "lamp"
power = 60
count = 3
connect = "L{k}-N"
point = "cottage {k}"
""" for k in (1, 2)))
    assert (case.points, case.loads, case.breaks) == (written.points, written.loads, written.breaks)


def test_lines_and_switches_are_dealt():
    """Practice: premises take the lines in turn; the share that is on is met to the nearest whole premises."""
    case = group()
    homes = [p for p in case.points if p.kind == "intake"]
    assert [p.phases for p in homes] == [(f"L{k % 3 + 1}",) for k in range(7)]
    assert [p.electrode for p in case.points if p.kind == "joint"] == [None, None, 20.0, None, None, 20.0, None]
    heaters = [load for load in case.loads if load.name.startswith("heater")]
    assert sum(load.on for load in heaters) == round(0.43 * 7)
    assert all(load.on for load in case.loads if load.name.startswith("lamps"))


def test_a_third_that_is_on_does_not_fall_on_one_line():
    """Practice: shares are spread over the lines, whatever the share."""
    case = group(GROUP.replace("count = 7", "count = 300").replace("0.43", "0.3333"))
    on = [load.connect[0] for load in case.loads if load.name.startswith("heater") and load.on]
    assert len(on) == 100 and all(25 <= on.count(line) <= 42 for line in ("L1", "L2", "L3"))


def test_all_lines_and_split_phase():
    """Practice: with every line at each premises the loads take the lines in turn; split-phase has two."""
    case = group(GROUP.replace("count = 7", 'count = 2\nphases = "all"'))
    assert [load.connect for load in case.loads] == [("L1", "N"), ("L2", "N"), ("L2", "N"), ("L3", "N")]
    case = group(head='title = "t"\n[supply]\nsystem = "split-phase"\n')
    assert [p.phases for p in case.points if p.kind == "intake"][:3] == [("L1",), ("L2",), ("L1",)]


@pytest.mark.parametrize("old, new, place, words", [
    ("count = 7", "count = 0", "6:9", "group[1].count: 0 is too small"),
    ("count = 7", "many = 7", "4:1", "group[1].count: is missing"),
    ("electrode = 40.0", "electrode = -1.0", "9:13", "group[1].electrode: -1 is too small"),
    ("line = [0.01, 0.0]", "length = 5", "7:11", "group[1].spacing.area: is missing"),
    ("power = 2000", 'power = "x"', "13:50", 'group[1].load[1].power: "x" is text'),
    ('name = "lamps", ', "", "14:3", "group[1].load[2].name: is missing"),
    ("count = 3", 'connect = "L2-N"', "14:58", 'group[1].load[2].connect: "L2-N": L2 is not connected'),
    ("count = 3", 'connect = "L2-N"', "14:58", 'of "L1", "N"; left out, each load of a group is on the lines of its premises'),
    ("share = 0.43", "share = 1.5", "13:64", "group[1].load[1].share: 1.5 is too large"),
    ("count = 7", 'count = 7\nfed_from = "nowhere"', "7:12", 'group[1].fed_from: there is no point "nowhere"'),
])
def test_a_fault_is_reported_once_and_at_the_group(old, new, place, words):
    with pytest.raises(CaseError) as error:
        group(GROUP.replace(old, new))
    found = [fault for fault in error.value.faults if words in fault]
    assert len(found) == 1 and found[0].startswith(f"case.toml:{place}: "), error.value.faults


def test_schema_knows_groups():
    assert "group" in case_schema()["properties"]
