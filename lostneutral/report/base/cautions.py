"""What goes with ranges, courses, places and causes: cautions, short before the answer and long after it."""

SAFE_WAY = ("Readings are for a competent person with a two-pole voltage detector or a meter of the right category, "
            "one hand at a "
            "time, all metalwork treated as live. Do not switch loads on for a reading, and do not open a joint that "
            "may "
            "carry load: isolate first.")


def in_short(texts) -> str:
    """Return short cautions as one paragraph, to stand before the answer."""
    return "Cautions (in full at the end): " + " ".join(texts)
