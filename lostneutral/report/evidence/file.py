"""The `deduction` block of the result file."""

from math import isfinite


def deduction_dict(found) -> dict:
    """Return a deduction as plain values: voltages in V, shares and probabilities from 0 to 1, errors as one standard error.

    `evidence` is the probability (density) of all observations under a cause, in units that are the same for all.
    """
    return {
        "samples": found.samples, "seed": found.seed, "solved_one_by_one": list(found.singly), "unsolved": found.unsolved,
        "causes": [{"kind": w.kind, "words": w.words, "run": w.at or None, "prior": w.prior, "posterior": w.posterior,
                    "error": w.posterior_error, "evidence": w.evidence, "evidence_error": w.error,
                    "effective_samples": w.effective, "ratio_of_best_to_this": w.against,
                    "fits": [vars(fit) for fit in w.fits]} for w in found.rivals],
        "kinds": [vars(kind) for kind in found.kinds],
        "voltages": [{"point": point, "line": line, "5%": low, "50%": middle, "95%": high}
                     for point, line, low, middle, high in found.voltages],
        "unknowns": [{"name": k.name, "unit": k.unit or None, "before": list(k.before), "after": list(map(float, k.after))}
                     for k in found.unknowns],
        "likeliest_together": {"on": dict(found.together[0]), "share": found.together[1]},
        "only_looked_at": found.looked, "complete": found.complete,
        "observations": list(found.observations), "not_explained": list(found.unexplained),
        "without_one": [vars(row) for row in found.left_out],
        "level_priors": {"first": found.level_priors[0], "posterior": found.level_priors[1], "turns_at": found.turns_at},
        "asked": [asked_dict(a) for a in found.asked],
        "ceilings": [vars(c) for c in found.ceilings], "against_the_first": list(found.against),
        "would_turn_it": [vars(t) for t in found.turning],
        "next_readings": [{"point": r.point, "between": "-".join(r.between), "bits": r.bits, "of": r.of,
                           "expected": [dict(zip(("cause", "5%", "50%", "95%"), row)) for row in r.expected]}
                          for r in found.next_readings],
    }


def asked_dict(asked) -> dict:
    """Return the voltages given the observations as plain values, V: [5 %, 50 %, 95 %]; None where nothing determines them."""
    def told(spread):
        return [v if isfinite(v) else None for v in spread]

    return {"cause": asked.cause or None, "highest": told(asked.highest), "lowest": told(asked.lowest),
            "phases": {line: {"lowest": told(low), "highest": told(high)} for line, low, high in asked.phases},
            "metalwork": told(asked.metalwork) if asked.metalwork else None}
