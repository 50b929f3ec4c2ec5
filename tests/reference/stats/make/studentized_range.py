"""Makes ../expected/studentized_range.json: upper tails of the studentized range by Gauss-Legendre quadrature.

Run by hand from this folder: python studentized_range.py
Needs Python with numpy and scipy. It is there for few degrees of freedom and many groups, where R's ptukey is
off by up to 3e-3. Both integrals are taken in panels of 60 nodes; every value is checked against half as many panels and
against scipy.stats.studentized_range, and the script stops where they disagree.
"""
import json
import sys

import numpy
import scipy.stats
from scipy.special import gammaln, ndtr

numpy.seterr(divide="ignore")  # log1p(-1) where the range surely exceeds w
NODES, WEIGHTS = numpy.polynomial.legendre.leggauss(60)


def panels(ends):
    """Nodes and weights of the panels between the ends."""
    low, high = ends[:-1, None], ends[1:, None]
    half = (high - low) / 2
    return ((low + high) / 2 + half * NODES).ravel(), (half * WEIGHTS).ravel()


def range_above(w, k, fineness):
    """P(range of k standard normals > w) for an array w."""
    result = []
    for one in w:
        z, weight = panels(numpy.linspace(-9, max(9, one / 2 + 9), 6 * fineness + 1))
        largest = ndtr(z)
        # a^(k-1) - (a-b)^(k-1) without cancellation
        difference = -numpy.expm1((k - 1) * numpy.log1p(-ndtr(z - one) / largest)) * largest ** (k - 1)
        result.append(k * numpy.sum(weight * numpy.exp(-z * z / 2) / numpy.sqrt(2 * numpy.pi) * difference))
    return numpy.array(result)


def upper_tail(q, k, df, fineness):
    ends = numpy.geomspace(1e-9, 14, 24 * fineness + 1)
    s, weight = panels(ends)
    log_density = numpy.log(2) + df / 2 * numpy.log(df / 2) - gammaln(df / 2) + (df - 1) * numpy.log(s) - df * s * s / 2
    kept = weight * numpy.exp(log_density) > 1e-60
    return float(numpy.sum((weight * numpy.exp(log_density))[kept] * range_above(q * s[kept], k, fineness)))


CASES = [
    (1, 3, 2), (3, 3, 2), (25, 6, 2), (47.4, 25, 2), (90, 10, 2), (2, 60, 2), (5.91, 3, 3), (25, 25, 3),
    (1.5, 4, 3.5), (12, 4, 3.5), (25, 60, 4), (25, 4, 5), (9, 3, 6), (6.3, 12, 14), (40, 5, 30), (3, 60, 250), (4, 60, 250),
]
rows = []
for q, k, df in CASES:
    value, coarse = upper_tail(q, k, df, 2), upper_tail(q, k, df, 1)
    other = scipy.stats.studentized_range.sf(q, k, df)
    print(q, k, df, value, coarse / value - 1, other / value - 1, flush=True)
    if abs(coarse / value - 1) > 1e-11 or abs(other - value) > 1e-9:
        sys.exit("the quadratures disagree")
    rows.append([q, k, df, value])

file = {
    "id": "studentized_range",
    "data": [],
    "source": "the definition: Hartley, Biometrika 32 (1942) 334-348",
    "method": "both integrals by Gauss-Legendre quadrature in panels, checked against half as many panels and scipy.stats.studentized_range",
    "software": f"Python {sys.version.split()[0]}; numpy {numpy.__version__}, scipy {scipy.__version__}",
    "suggested_rtol": 1e-10,
    "notes": None,
    "results": {"columns": ["q", "groups", "df", "upper_tail"], "rows": rows},
}
with open("../expected/studentized_range.json", "w") as out:
    json.dump(file, out, indent=1)
    out.write("\n")
