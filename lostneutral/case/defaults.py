"""Values that the case file may leave out, by system of supply."""

NOMINAL = {"three-phase": 230.0, "split-phase": 120.0}
FREQUENCY = {"three-phase": 50.0, "split-phase": 60.0}
LIMITS = {"three-phase": "EN 50160", "split-phase": "ANSI C84.1 Range A service"}
AT_120_V = "ANSI C84.1 Range A service"  #: of every 120 V 60 Hz system: EN 50160 is not its rule
