"""The `ranges` block of the result file."""


def ranges_dict(found) -> dict:
    """Return ranges as plain values: voltages in V, probabilities and shares from 0 to 1, errors as one standard error."""
    return {
        "samples": found.samples, "scramblings": found.scramblings, "seed": found.seed, "unsolved": found.unsolved,
        "several_states": found.several, "may_fall": list(found.falling), "unknowns": list(found.unknowns),
        "guarantee": {"highest": found.guarantee.highest, "reason": found.guarantee.reason},
        "highest": _span(found.highest),
        "phases": [{"point": s.name, "line": s.line, **_span(s)} for s in found.phases],
        "loads": [{"name": s.name, **_span(s), "outcomes": [_chance(o) for o in s.outcomes]} for s in found.loads],
        "influences": [{"unknown": i.name, "share": i.share, "width": i.width, "width_if_known": i.width_known,
                        "if_so": [{"is": p.words, "chance": p.share, "5%": p.low, "95%": p.high} for p in i.parts]}
                       for i in found.influences],
    }


def _span(span):
    return {"5%": span.low, "50%": span.middle, "95%": span.high, "errors": list(span.errors), "least": span.least,
            "most": span.most, "share_of_samples": span.there, "chances": [_chance(c) for c in span.chances]}


def _chance(chance):
    limit = chance.limit
    made = {"what": chance.words, "chance": chance.share, "error": chance.error}
    return made if limit is None else made | {"limit": {"value": limit.value, "unit": limit.unit, "source": limit.source,
                                                        "known": limit.known}}
