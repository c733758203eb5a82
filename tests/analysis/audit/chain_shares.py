"""Intervals of shares whose hits come in rows, from the law stated in analysis/statistics/shares/row_share.hpp: the share is
a·m/(1 + a·m), a and the chance b that a row ends have beta laws, m = 1/b (or 1 + q + q², q = 1 − b, where a row counts
three at most). By scipy, with a trapezium over b's probability that is fine at both ends: no code shared.
"""
import numpy
from scipy import optimize, stats

GRID = numpy.unique(numpy.concatenate([numpy.geomspace(1e-9, 1e-2, 800), numpy.linspace(1e-2, 1, 4001)]))
MIDDLE, WEIGHT = (GRID[1:] + GRID[:-1]) / 2, numpy.diff(GRID)
FEWEST_ROWS = 3


def clopper_pearson(x, n, level=0.95):
    tail = (1 - level) / 2
    return (0.0 if x == 0 else stats.beta.ppf(tail, x, n - x + 1),
            1.0 if x == n else stats.beta.ppf(1 - tail, x + 1, n - x))


def events(hits):
    """Rows, and one more for every 50 hits that only go on with a row."""
    rows = sum(1 for before, now in zip([False] + hits, hits) if now and not before)
    return rows + (sum(hits) - rows) // 50


def limit(start, end, length, probability):
    b = stats.beta.ppf(MIDDLE, *end)
    m = length(b)

    def short_of(share):
        return numpy.sum(WEIGHT * stats.beta.cdf(numpy.minimum(1, share / (1 - share) / m), *start)) - probability

    return optimize.brentq(short_of, 1e-9, 1 - 1e-9, xtol=1e-9)


def both(starts, quiet, ends, stays, length, level=0.95):
    tail = (1 - level) / 2
    high = limit((starts + 1, max(0.01, quiet)), (ends + 0.25, stays + 0.5), length, 1 - tail)
    if starts < FEWEST_ROWS:
        return 0.0, high
    return limit((starts, quiet + 1), (ends + 0.5, stays + 0.25), length, tail), high


def of_sequence(hits):
    """Of booleans in the order of the run; None where no hit (or no other) follows another: Clopper-Pearson holds."""
    turned = 2 * sum(hits) > len(hits)
    seen = [hit != turned for hit in hits]
    rows = sum(1 for before, now in zip([False] + seen, seen) if now and not before)
    if rows == sum(seen):
        return None
    last = seen[-1]
    could_start = len(seen) - sum(seen) + 1 - (0 if last else 1)
    low, high = both(rows, max(0, could_start - rows), rows - last, sum(seen) - rows, lambda b: 1 / b)
    return (1 - high, 1 - low) if turned else (low, high)


def of_gaps(kept, ones, twos, threes):
    """Misses of ISO 7256-1: gaps of one, two, three and more after so many intervals that hold a seed."""
    rows, ends, stays = ones + twos + threes, ones + twos, twos + 2 * threes
    if stays == 0:
        return None
    q = stays / (stays + ends)
    factor = (ones + 2 * twos + 3 * threes) / rows / (1 + q + q * q)
    return both(rows, kept - rows, ends, stays, lambda b: factor * (1 + (1 - b) + (1 - b) ** 2))
