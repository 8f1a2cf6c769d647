"""Fits the mapped session with least_squares of scipy: one form, or the choice among the
forms that injtab lets compete for it.

The model is that of injtab: one exponent of flow over pressure, the rise of the coil's
current with a small deviation at each voltage, an exponential return to the line and a
needle that does not reach its stop; each injector has its own flow and its own factor
on the pull-in term. Other forms have a return that goes with the dead time, no stop, the
factor on the whole dead time, or a dead time of their own at each voltage. As in injtab,
the bends compete first, each from where the first one ended, then the dead times; the
corrected Akaike criterion chooses, and the winner is fitted again. Simpler than there: the
noise is taken as known and not estimated, the loss is Cauchy's in one pass, nothing is held
out, and no interval, range or finding is worked out. Derivatives are by differences, as
one does.
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


# Places in the vector of parameters: a form fits some of them and leaves the others where
# they make no difference.
N, T0, TAU, A, B, BEND, LENGTH, SLOPE, K, W0, W1, NODES = range(12)


class Form:
    def __init__(self, dead, by_voltage, lift):
        self.dead = dead
        self.free = [N, B, BEND, LENGTH] + [SLOPE] * by_voltage + [K, W0, W1] * lift + [T0, TAU, A] * (dead != "curve")
        self.free = np.array(self.free + list(range(NODES, len(start))))

    def residuals(self, part, whole):
        x = whole.copy()
        x[self.free] = part
        who, t, p, v, q, sd = data
        nodes, flow, pull = x[NODES:NODES + len(volts)], x[-2 * count:-count], x[-count:]
        own = np.exp(pull[who])
        at = np.interp(-1 / v, -1 / volts, nodes)
        if self.dead == "curve":
            dead = own * at * (1 + x[B] * (p / RATED - 1))
            held = nodes[:0]
        else:
            on_pull = own if self.dead == "pull" else 1
            level = np.minimum(on_pull * np.exp(x[A]) * (1 + x[B] * p / RATED) / v, 0.97)
            dead = x[T0] - np.exp(x[TAU]) * np.log1p(-level) + at
            held = nodes / RIDGE
            if self.dead == "whole":
                dead = own * dead
        w = t - dead
        stop = (x[W0] + x[W1] * (dead - 0.9) - w) / STOP_WIDTH
        back = x[BEND] * (1 + x[SLOPE] * (dead - 0.9)) * np.exp(np.minimum(-w / np.exp(x[LENGTH]), 3))
        u = w - back - x[K] * STOP_WIDTH * np.logaddexp(0, stop)
        model = np.exp(flow[who] + x[N] * np.log(p / RATED)) * u
        return np.concatenate([(model - q) / sd, held, pull / PULL_SD])

    def fit(self, whole):
        got = least_squares(self.residuals, whole[self.free], loss="cauchy", x_scale="jac", args=(whole,))
        if not got.success:
            raise SystemExit("the fit did not settle: " + got.message)
        ended = whole.copy()
        ended[self.free] = got.x
        k, n = len(self.free), len(data[0])
        return 2 * got.cost + 2 * k + 2 * k * (k + 1) / (n - k - 1), ended


count, data = readings(sys.argv[1])
volts = np.unique(data[3])
start = np.concatenate([[0.5, 0.3, 0.0, 1.0, 0.3, 0.1, -1.0, 0, 0, 0.6, 0], np.zeros(len(volts)),
                        np.full(count, np.log(4.0)), np.zeros(count)])


def one():
    return Form("pull", True, True).fit(np.where(np.arange(len(start)) == K, 0.1, start))


def choice():
    first = Form("pull", False, False)
    tried = [(first, *first.fit(start))]
    for by_voltage, lift in ((True, False), (False, True), (True, True)):
        form, begin = Form("pull", by_voltage, lift), tried[0][2].copy()
        if lift:
            begin[K] = 0.1
        tried.append((form, *form.fit(begin)))
    bend, _, ended = min(tried, key=lambda x: x[1])
    for dead in ("whole", "curve"):
        form, begin = Form(dead, SLOPE in bend.free, K in bend.free), ended.copy()
        if dead == "curve":
            begin[NODES:NODES + len(volts)] = 0.35 + 6.5 / volts
            begin[B] = 0.1
        tried.append((form, *form.fit(begin)))
    form, _, ended = min(tried, key=lambda x: x[1])
    return form.fit(ended)


work = {"one": one, "choice": choice}[sys.argv[3]]
if len(sys.argv) > 4:
    criterion, ended = work()
    print("criterion", criterion, "flow ml/min", 60 * np.exp(ended[-2 * count:-count]))
else:
    least(int(sys.argv[2]), work)
