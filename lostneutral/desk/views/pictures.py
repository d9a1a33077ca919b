"""Small pictures: what comes in, how it is earthed, and the terminals to tap. Words beside them say the same."""

_HEAD = '<svg viewBox="0 0 120 64" class="line-art" focusable="false">'


def _line(x1, y1, x2, y2, more=""):
    return f'<path d="M{x1} {y1}L{x2} {y2}" {more}/>'


def _text(x, y, words, more=""):
    return f'<text x="{x}" y="{y}" {more}>{words}</text>'


def _star(names):
    lines = _line(60, 34, 60, 8) + _line(60, 34, 34, 54) + _line(60, 34, 86, 54)
    marks = _text(65, 12, names[0]) + _text(14, 58, names[1]) + _text(90, 58, names[2])
    return f'{_HEAD}{lines}<circle cx="60" cy="34" r="4" class="solid"/>{_text(68, 34, "N")}{marks}</svg>'


SUPPLY = {
    "230": _star(("L1", "L2", "L3")), "120/208": _star(("L1", "L2", "L3")),
    "split": f'{_HEAD}{_line(20, 32, 100, 32)}<circle cx="60" cy="32" r="4" class="solid"/>{_text(56, 24, "N")}{_text(8, 50, "L1")}'
             f'{_text(94, 50, "L2")}</svg>',
    "other": f'{_HEAD}{_text(52, 42, "?", "class=big")}</svg>',
}


def _intake(inside):
    """The incoming cable at the left, the intake as a box."""
    box = '<rect x="44" y="6" width="68" height="40" class="thin"/>'
    return f'{_HEAD}{box}{inside}</svg>'


def _conductor(y, name, dash=""):
    return _line(4, y, 70, y, f'stroke-dasharray="{dash}"' if dash else "") + _text(4, y - 3, name)


_EARTH_BAR = _line(78, 38, 106, 38, 'class="bar"') + _text(84, 34, "earth")
_ROD = _line(92, 38, 92, 56) + _line(82, 56, 102, 56) + _line(86, 60, 98, 60)

EARTHING = {
    "TN-C-S": _intake(_conductor(14, "L") + _conductor(28, "N + E") + _EARTH_BAR + _line(70, 28, 78, 38)),
    "TN-S": _intake(_conductor(14, "L") + _conductor(26, "N") + _line(4, 38, 78, 38, 'stroke-dasharray="6 3"') + _text(4, 35, "E") + _EARTH_BAR),
    "TT": _intake(_conductor(14, "L") + _conductor(28, "N") + _EARTH_BAR + _ROD),
    "TN-C": _intake(_conductor(14, "L") + _line(4, 28, 106, 28) + _text(4, 25, "N + E") + _text(76, 24, "N + E")),
    "": f'{_HEAD}{_text(52, 42, "?", "class=big")}</svg>',
}

TERMINALS = ("L1", "L2", "L3", "N", "PE", "earth")
PLACES = {"L1": (40, 34), "L2": (104, 34), "L3": (168, 34), "N": (232, 34), "PE": (296, 34), "earth": (360, 34)}
