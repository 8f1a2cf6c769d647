"""Fits twenty straight lines of 50,000 readings each, with standard errors."""

import sys

import numpy as np
from timing import least

rng = np.random.default_rng(3)
x = 2 + 8 * rng.random(50_000)
y = 3 * (x - 0.8) + 0.01 * rng.standard_normal(x.size)


def fit():
    a = np.column_stack([np.ones_like(x), x])
    coef, rss, _, _ = np.linalg.lstsq(a, y, rcond=None)
    cov = np.linalg.inv(a.T @ a) * rss[0] / (x.size - 2)
    return coef, np.sqrt(np.diag(cov))


least(int(sys.argv[1]), lambda: [fit() for _ in range(20)])
