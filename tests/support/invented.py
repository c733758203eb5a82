"""Files that several tests need of a workshop that is invented: a profile of wide limits and a counted bench gate."""


def profile(name="short-test", least_drops=150, limit=0.08):
    """So wide that short runs decide."""
    return f"""# Invented for a test: wide limits, so that short runs decide.
name = "{name}"
mode = "single"
confidence = 0.95
least_drops = {least_drops}
[limits]
miss_index = {limit}
multiples_index = {limit}
"""


def record(name, expires="2026-12-31"):
    """Of the reference gate of bench-1."""
    return f"""schema = "dropledger/calibration/1"
id = "{name}"
date = "2026-01-02"
expires = "{expires}"
[holds_for]
bench = "bench-1"
gate = 1
[efficiency]
value = 0.999
low = 0.996
high = 1.0
confidence = 0.95
method = "invented"
"""
