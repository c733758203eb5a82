#!/usr/bin/python3
"""Intervals and tests of analysis/statistics against scipy on random data (fixed seed).

usage: crosscheck.py PROGRAM    exit 0 all agree, 1 some differ, 77 scipy is missing
"""
import pathlib
import subprocess
import sys

sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "audit"))
try:
    import numpy
    import scipy
    from scipy import optimize, stats

    import chain_shares
except ImportError as missing:
    print(f"skipped: {missing}; install python3-scipy to run this check")
    sys.exit(77)

random = numpy.random.default_rng(20240607)
questions = []  # (name, numbers, expected, relative tolerance)

def ask(name, numbers, expected, tolerance=1e-9):
    questions.append((name, [float(n) for n in numbers], [float(e) for e in expected], tolerance))

def shares():
    for _ in range(60):
        n = int(random.integers(1, 4000))
        x = int(random.choice([0, n, random.integers(0, n + 1), random.binomial(n, 0.03)]))
        level = float(random.choice([0.8, 0.9, 0.95, 0.99]))
        tail = (1 - level) / 2
        for name, method in (("clopper_pearson", "exact"), ("wilson", "wilson")):
            interval = stats.binomtest(x, n).proportion_ci(level, method)
            ask(name, [x, n, level], [interval.low, interval.high], 1e-8)
        low = 0 if x == 0 else stats.beta.ppf(tail, x + 0.5, n - x + 0.5)
        high = 1 if x == n else stats.beta.ppf(1 - tail, x + 0.5, n - x + 0.5)
        ask("jeffreys", [x, n, level], [low, high])

def rows():
    for _ in range(40):
        n = int(random.integers(20, 1500))
        starts, ends = float(random.uniform(0.003, 0.2)), float(random.uniform(0.1, 0.9))
        inside, sequence = False, []
        for u in random.uniform(0, 1, n):
            inside = u >= ends if inside else u < starts
            sequence.append(bool(inside))
        chain = chain_shares.of_sequence(sequence)
        if chain:
            value = sum(sequence) / n
            ask("row_share", sequence, [min(value, chain[0]), max(value, chain[1])], 2e-4)
        gaps = [int(x) for x in random.integers(0, 9, 3)]
        kept = sum(gaps) + int(random.integers(5, 900))
        if gaps[1] + gaps[2]:
            hits = gaps[0] + 2 * gaps[1] + 3 * gaps[2]
            low, high = chain_shares.of_gaps(kept, *gaps)
            value = hits / (kept + hits)
            ask("capped_row_share", [kept, *gaps], [min(value, low), max(value, high)], 2e-4)
        hits = int(random.integers(2, n))
        law = stats.hypergeom(n, hits - 1, hits)  # hits that follow another
        following = int(law.rvs(random_state=random))
        ask("rows", [n, hits, hits - following], [law.sf(following - 1), law.cdf(following)], 1e-7)

def groups():
    for _ in range(60):
        n1, n2 = (int(n) for n in random.integers(1, 800, 2))
        x1, x2 = int(random.binomial(n1, 0.05)), int(random.binomial(n2, 0.08))
        _, p = stats.fisher_exact([[x1, n1 - x1], [x2, n2 - x2]])
        ask("fisher", [x1, n1, x2, n2], [p], 1e-8)
        a = random.normal(0, 1, int(random.integers(3, 40)))
        if len(a) >= 8:
            ask("anderson_darling", a, [stats.anderson(a).statistic], 1e-8)

def counts():
    for _ in range(60):
        line = random.negative_binomial(5, 0.5, int(random.integers(5, 500)))
        if line.sum() == 0:
            continue
        chi = ((line - line.mean()) ** 2).sum() / line.mean()
        ask("dispersion", [len(line), line.sum(), (line**2).sum()],
            [chi, stats.chi2.sf(chi, len(line) - 1)])
        lot = int(random.integers(10, 3000))
        bad, sample = (int(v) for v in random.integers(0, lot + 1, 2))
        law = stats.hypergeom(lot, bad, sample)
        k = int(law.rvs(random_state=random))
        ask("hypergeometric", [k, lot, bad, sample], [law.cdf(k), law.sf(k)], 1e-7)
        mean = float(random.uniform(0.01, 60))
        k = int(random.poisson(mean))
        ask("poisson", [k, mean], [stats.poisson.cdf(k, mean)])
        p, df, delta = random.uniform(0.05, 0.95), random.uniform(2, 80), random.uniform(0, 12)
        ask("noncentral_t", [p, df, delta], [stats.nct.ppf(p, df, delta)], 1e-6)

def correlations(rho, wander, n):
    """Of n values in a row: wander · rho^k over k values."""
    apart = numpy.abs(numpy.subtract.outer(numpy.arange(n), numpy.arange(n)))
    matrix = wander * rho ** apart.astype(float) if rho > 0 else numpy.zeros((n, n))
    numpy.fill_diagonal(matrix, 1.0)
    return matrix

def grid(n):
    """rho, wander and prior of each point, as dependence.hpp says."""
    yield 0.0, 0.0, 0.8
    rows = [(1.0, 0.0, 48, 0.14)] + [(w, 0.4, 14, 0.01) for w in (0.1, 0.25, 0.4, 0.55, 0.7, 0.85)]
    most = 1 - 1 / n
    for wander, least, points, prior in rows:
        for i in range(points):
            yield most - (most - least) * (1 - (i + 0.5) / points) ** 2, wander, prior / points

def dependent_mean_half_width(values):
    """From the covariance matrices themselves, with no closed form."""
    n, sums, energies = len(values), values.astype(float), []
    while len(sums) > 1:
        pairs = len(sums) // 2
        left, right = sums[0:2 * pairs:2], sums[1:2 * pairs:2]
        energies.append((pairs, ((left - right) ** 2).sum()))
        sums = left + right
    squares = ((values - values.mean()) ** 2).sum()
    degrees = sum(pairs for pairs, _ in energies)
    scores, scales = [], []
    for rho, wander, prior in grid(n):
        matrix = correlations(rho, wander, n)
        score, explained = numpy.log(prior), 0.0
        for level, (pairs, energy) in enumerate(energies):
            block = 2**level
            contrast = numpy.r_[numpy.ones(block), -numpy.ones(block)]
            variance = contrast @ matrix[:2 * block, :2 * block] @ contrast
            score -= pairs / 2 * numpy.log(variance)
            explained += energy / variance
        scores.append(score - degrees / 2 * numpy.log(explained / squares))
        variance = squares / (n - 1) if rho == 0 else explained / degrees
        scales.append(numpy.sqrt(variance * matrix.sum()) / n)
    weights = numpy.exp(numpy.array(scores) - max(scores))
    weights /= weights.sum()
    mean_degrees = weights[0] * (n - 1) + (1 - weights[0]) * degrees
    tails = lambda half: (weights * 2 * stats.t.sf(half / numpy.array(scales), mean_degrees)).sum()
    return optimize.brentq(lambda half: tails(half) - 0.05, 0, 100 * max(scales))

def slope_p(values):
    """Generalised least squares with whole covariance matrices."""
    n, total, p = len(values), 0.0, 0.0
    design = numpy.c_[numpy.ones(n), numpy.arange(n)]
    scores, tails = [], []
    for i in range(61):
        rho = 0.0 if i == 0 else (i - 0.5) / 60
        inverse = numpy.linalg.inv(correlations(rho, 1.0, n) / (1 - rho**2))
        normal = design.T @ inverse @ design
        line = numpy.linalg.solve(normal, design.T @ inverse @ values)
        left = values - design @ line
        squares = left @ inverse @ left
        scores.append(numpy.log(0.3 if i == 0 else 0.7 / 60) + 0.5 * numpy.linalg.slogdet(inverse)[1]
                      - 0.5 * numpy.linalg.slogdet(normal)[1] - (n - 2) / 2 * numpy.log(squares))
        error = numpy.sqrt(squares / (n - 2) * numpy.linalg.inv(normal)[1, 1])
        tails.append(2 * stats.t.sf(abs(line[1]) / error, n - 2))
    weights = numpy.exp(numpy.array(scores) - max(scores))
    return (weights * tails).sum() / weights.sum()

def dependence():
    for memory in (0.0, 0.3, 0.6, 0.9):
        for n in (16, 50, 120):
            values, at = [], random.normal()
            for _ in range(n):
                at = memory * at + numpy.sqrt(1 - memory**2) * random.normal()
                values.append(round(8000 * at))
            series = numpy.array(values)
            # the program gathers points that are nearly alike: one part in two hundred
            ask("dependent_mean", values, [dependent_mean_half_width(series)], 5e-3)
            ask("slope", values, [slope_p(series)], 1e-6)

shares()
groups()
counts()
dependence()
rows()
lines = "".join(f"{name} {' '.join(f'{n:.17g}' for n in numbers)}\n" for name, numbers, _, _ in questions)
answers = subprocess.run([sys.argv[1]], input=lines, capture_output=True, text=True, check=True)
rows = answers.stdout.splitlines()
if len(rows) != len(questions):
    sys.exit(f"{len(questions)} questions, {len(rows)} answers")
wrong = 0
for (name, numbers, expected, tolerance), row in zip(questions, rows):
    got = [float(field) for field in row.split()]
    if not numpy.allclose(got, expected, rtol=tolerance, atol=1e-12):
        wrong += 1
        print(f"differs: {name} {numbers[:5]}: ours {got}, scipy {expected}")
print(f"scipy {scipy.__version__}: {len(questions)} questions, {wrong} differ")
sys.exit(1 if wrong else 0)
