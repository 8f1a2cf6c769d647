"""Chooses the eight injectors whose worst spread is least, as a mixed-integer program:

    pile.py FILE SECONDS        solves it with HiGHS (milp of scipy)
    pile.py FILE --lp PROGRAM   writes it for another solver

With x the logarithms of what was delivered and b telling who is chosen:
minimise z with sum b = 8 and, at every point, lo <= max - (max - x_i) b_i,
hi >= min + (x_i - min) b_i and z >= hi - lo.
"""

import csv
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from timing import least

CHOSEN = 8


def pile(path):
    with open(path, encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    ids = sorted({int(r["injector"]) for r in rows})
    x = np.array([np.log(float(r["volume_ml"])) for r in rows])
    return x.reshape(len(ids), -1)


def write(x, path):
    n, d = x.shape
    lines = ["Minimize", " obj: z", "Subject To", " size: " + " ".join(f"+ b{i}" for i in range(n)) + f" = {CHOSEN}"]
    for j in range(d):
        low, high = x[:, j].min(), x[:, j].max()
        lines.append(f" span{j}: z - hi{j} + lo{j} >= 0")
        for i in range(n):
            lines.append(f" lo{j}_{i}: lo{j} + {high - x[i, j]:.12g} b{i} <= {high:.12g}")
            lines.append(f" hi{j}_{i}: hi{j} - {x[i, j] - low:.12g} b{i} >= {low:.12g}")
    lines += ["Bounds"] + [f" -infinity <= {end}{j} <= +infinity" for j in range(d) for end in ("lo", "hi")]
    lines += ["Binary"] + [f" b{i}" for i in range(n)] + ["End", ""]
    with open(path, "w", encoding="ascii") as file:
        file.write("\n".join(lines))


def solve(x, seconds):
    n, d = x.shape
    size = n + 2 * d + 1  # b, lo, hi, z
    rows, low, high = [np.r_[np.ones(n), np.zeros(2 * d + 1)]], [CHOSEN], [CHOSEN]
    for j in range(d):
        span = np.zeros(size)
        span[-1], span[n + d + j], span[n + j] = 1, -1, 1
        rows.append(span), low.append(0), high.append(np.inf)
        bottom, top = x[:, j].min(), x[:, j].max()
        for i in range(n):
            lo, hi = np.zeros(size), np.zeros(size)
            lo[n + j], lo[i] = 1, top - x[i, j]
            hi[n + d + j], hi[i] = 1, bottom - x[i, j]
            rows.append(lo), low.append(-np.inf), high.append(top)
            rows.append(hi), low.append(bottom), high.append(np.inf)
    bounds = Bounds(np.r_[np.zeros(n), np.full(2 * d, -np.inf), 0], np.r_[np.ones(n), np.full(2 * d + 1, np.inf)])
    got = milp(np.r_[np.zeros(size - 1), 1], constraints=LinearConstraint(np.array(rows), low, high), bounds=bounds,
               integrality=np.r_[np.ones(n), np.zeros(2 * d + 1)], options={"time_limit": seconds, "mip_rel_gap": 0})
    print("proven" if got.status == 0 else "not proven", file=sys.stderr)


x = pile(sys.argv[1])
if sys.argv[2] == "--lp":
    write(x, sys.argv[3])
else:
    least(1, lambda: solve(x, float(sys.argv[2])))
