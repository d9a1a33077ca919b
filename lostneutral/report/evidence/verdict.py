"""What a deduction comes to, in a few sentences, for terminal and document alike."""

from lostneutral.evidence.asked import ceiling_words
from lostneutral.evidence.scale import PLAYS, support
from lostneutral.report.base.words import significant
from lostneutral.report.ranges.rows import probability_words

BESIDE = 3  #: rivals that are held item by item
LEVEL = 2.0  #: likelihood ratio below which nothing is supported
INCOMPLETE = ("INCOMPLETE: the comparison was interrupted. What follows is what was known by then, from few samples; it is not "
              "to be relied on.")


def verdict_on_cause(found, probability=True):
    """Return the conclusion in a few sentences, marked where the comparison was interrupted or a cause is not resolved."""
    poor = [w for w in found.rivals if w.posterior > PLAYS and w.error > w.evidence]
    unresolved = [f"Not resolved with so few samples: {_quoted([w.words for w in poor])}. Independent runs differ so far that the likelihood "
                  f"ratio may be wrong by a factor of about {significant(1 + max(w.error / w.evidence for w in poor), figures=1)} or more; "
                  "more samples (--samples) may do."] if poor else []
    return (*(() if found.complete else (INCOMPLETE,)), *unresolved, *_verdict(found, probability))


def _verdict(found, probability):
    """Return the conclusion in a few sentences: support for one cause against another, and no more.

    `probability`: also the posterior probability of the leading cause; it rests on the priors and is not for a client.
    """
    first, *others = found.rivals
    if first.kind == "not listed":
        return _not_explained(found)
    rival = next((w for w in others if w.kind != first.kind), None)
    kind = found.kinds[0]
    said = [f"The observations provide {kind.support} (likelihood ratio {about_ratio(kind.ratio)}) for “{kind.words}” "
            "rather than all other kinds of cause considered, taken together." if kind.ratio >= LEVEL else
            "The observations do not support any kind of cause against the others."]
    if probability:
        own = next(k for k in found.kinds if k.kind == first.kind)  # of several places, another kind may lead
        said.append(f"With the prior probabilities listed (“{own.words}”: {probability_words(own.prior)}), the "
                    "posterior "
                    f"probability of “{first.words}” would be {share_words(first)}. This depends on those priors and "
                    "is not "
                    "evidence by itself.")
    else:
        best = min(found.rivals, key=lambda w: w.against)
        said.append(f"Of the causes considered, “{best.words}” fits the observations best.")
    alike = [w.words for w in others if w.kind == first.kind and w.evidence * LEVEL > first.evidence and w.posterior > PLAYS]
    if alike:
        said.append(f"The observations do not show where it was: {_quoted(alike)} fit{'s' * (len(alike) == 1)} as "
                    "well.")
    if rival is not None:
        against = (rival.evidence and first.evidence / rival.evidence) or float("inf")
        if against < 1 / LEVEL:
            said.append(f"“{rival.words}” fits the observations better (likelihood ratio {about_ratio(1 / against)}, "
                        f"{support(1 / against)}), but was given the lower prior probability.")
        elif against < LEVEL:
            said.append(f"The observations do not distinguish between “{first.words}” and “{rival.words}” "
                        "(likelihood ratio "
                        f"{about_ratio(against)}).")
        else:
            said.append(f"The next most likely cause of another kind is “{rival.words}” (likelihood ratio "
                        f"{about_ratio(against)}, "
                        f"{support(against)} for the first).")
    if found.unexplained:
        said.append(f"Not explained by any cause considered: {'; '.join(found.unexplained)}. Check the reading, the "
                    "terminals used "
                    "and the time, or look for something that is not in the case.")
        said += [ceiling_words(c) for c in found.ceilings]
    contradicts = [words for words in found.against if words not in found.unexplained]
    if contradicts:
        said.append(f"Contradicts the leading cause: {'; '.join(contradicts)}.")
    return tuple(said)


def _not_explained(found):
    """The conclusion where something that is not listed leads."""
    second = next((w for w in found.rivals if w.kind != "not listed"), None)
    of_them = "all of them together are" if found.rivals[0].posterior > 0.5 else "each of them is"
    said = [f"Not explained by any cause considered: {of_them} less probable, given the observations and the priors listed, than something that "
            "is not among them."]
    if found.unexplained:
        said.append(f"None of them gives: {'; '.join(found.unexplained)}.")
    said += [ceiling_words(c) for c in found.ceilings]
    if second is not None:
        said.append(f"Of the causes considered, “{second.words}” is the most probable.")
    said.append("Check the readings, the terminals used and the time, and look for something that is not in the case.")
    return tuple(said)


def _quoted(names):
    return ", ".join(f"“{name}”" for name in names[:BESIDE]) + (f" and {len(names) - BESIDE} more" if len(names) > BESIDE else "")


def ratio_words(ratio):
    """Return a likelihood ratio to two figures, below 1 as a fraction.

    >>> print(ratio_words(1.0), ratio_words(0.98), ratio_words(2871.0), ratio_words(0.0007), ratio_words(1e9), ratio_words(0.0))
    1 1.0 2900 1/1400 more than a million less than a millionth
    """
    if not 1e-6 <= ratio <= 1e6:
        return "more than a million" if ratio > 1 else "less than a millionth"
    if ratio == 1:
        return "1"
    times = significant(max(ratio, 1 / ratio), figures=2)
    return times if ratio > 1 or times == "1.0" else f"1/{times}"


def about_ratio(ratio):
    """Return a likelihood ratio as `ratio_words` has it, with "about"."""
    said = ratio_words(ratio)
    return said if "than" in said else f"about {said}"


def share_words(weighed):
    """Return a rival's posterior probability with its sampling error."""
    error, share = 100 * weighed.posterior_error, weighed.posterior
    known = error >= 0.05 and 0.001 <= share <= 0.999
    return probability_words(share) + (f" ± {significant(error, figures=1)}" if known else "")
