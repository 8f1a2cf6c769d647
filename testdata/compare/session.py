"""Fits the mapped session with least_squares of scipy: one form, the one that injtab
chooses for it.

The model is that of injtab: one exponent of flow over pressure, the rise of the coil's
current with a small deviation at each voltage, an exponential return to the line and a
needle that does not reach its stop; each injector has its own flow and its own factor
on the pull-in term. Simpler than there: the noise is taken as known and not estimated,
the loss is Cauchy's in one pass, no other form competes, nothing is held out, and no
interval, range or finding is worked out. Derivatives are by differences, as one does.
"""

import csv
import sys

import numpy as np
from scipy.optimize import least_squares
from timing import least

RATED, STOP_WIDTH, PULL_SD, RIDGE = 300.0, 0.03, 0.1, 0.03
SHORT_OFF, SHORT_OPEN = 2.5, 0.45


def readings(path):
    with open(path, encoding="utf-8") as file:
        rows = list(csv.DictReader(line for line in file if not line.startswith("#")))
    column = lambda name: np.array([float(r[name]) for r in rows])
    ids = sorted({r["injector"] for r in rows})
    who = np.array([ids.index(r["injector"]) for r in rows])
    shots, volume = column("shots"), column("volume_ml")
    q = 1000 * volume / shots
    sd = np.hypot(np.hypot(1000 / shots / np.sqrt(12), q / shots), 0.006 * q)
    t, p, v = column("pulse_ms"), column("pressure_kpa"), column("voltage_v")
    guess = 0.35 + 6.5 / v
    good = (q > 0) & (t - guess > SHORT_OPEN) & (column("period_ms") - t > SHORT_OFF)
    return len(ids), [a[good] for a in (who, t, p, v, q, sd)]


def residuals(x, count, data, volts):
    who, t, p, v, q, sd = data
    n, t0, tau, a, b = x[0], x[1], np.exp(x[2]), np.exp(x[3]), x[4]
    delta, (bend, length, k, w0, w1) = x[5:5 + len(volts)], x[5 + len(volts):10 + len(volts)]
    flow, pull = x[-2 * count:-count], x[-count:]
    level = np.minimum(np.exp(pull[who]) * a * (1 + b * p / RATED) / v, 0.97)
    dead = t0 - tau * np.log1p(-level) + np.interp(-1 / v, -1 / volts, delta)
    w = t - dead
    stop = (w0 + w1 * (dead - 0.9) - w) / STOP_WIDTH
    u = w - bend * np.exp(np.minimum(-w / np.exp(length), 3)) - k * STOP_WIDTH * np.logaddexp(0, stop)
    model = np.exp(flow[who] + n * np.log(p / RATED)) * u
    return np.concatenate([(model - q) / sd, delta / RIDGE, pull / PULL_SD])


count, data = readings(sys.argv[1])
volts = np.unique(data[3])
start = np.concatenate([[0.5, 0.3, 0.0, 1.0, 0.3], np.zeros(len(volts)), [0.1, -1.0, 0.1, 0.6, 0.0],
                        np.full(count, np.log(4.0)), np.zeros(count)])


def fit():
    got = least_squares(residuals, start, loss="cauchy", x_scale="jac", args=(count, data, volts))
    if not got.success:
        raise SystemExit("the fit did not settle: " + got.message)
    return got


if len(sys.argv) > 3:
    got = fit()
    print(got.message, "evaluations", got.nfev, "rms", np.sqrt(np.median(got.fun**2)) * 1.48, "flow ml/min", 60 * np.exp(got.x[-2 * count:-count]))
else:
    least(int(sys.argv[2]), fit)
