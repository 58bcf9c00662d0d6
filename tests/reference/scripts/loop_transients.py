#!/usr/bin/env python3
"""Integrates the gas balance of breathing loops with SciPy and writes ../loop_transients.csv.

What is integrated are litres of oxygen, helium and all gas in the loop, with the flows in and out of it written down as
they are: what is fed, what keeps the volume, what the body takes, what the overpressure valve lets go at the loop's own
composition. The loop's gas is at 34 C and saturated: V litres hold V*(P - 0.0533)*293.15/307.15 free litres of dry gas. A
passive loop spills 25 litres of that gas, at body state, for each STPD litre of oxygen over its ratio. Valves switch at events found by the solver; at the set-point the controller's flow is the one for which the
solver's own derivative of the fraction is zero, found by bracketing. No solution of the equations is used.

Along with the loop run the oxygen clock (NOAA single-exposure table, straight lines in share a minute between its rows)
and the pulmonary units (5/6 law), both on the greater of the simulated and the set-point's partial pressure.

Needs NumPy and SciPy (written with 1.17.1). Prints its own time for one semi-closed dive; with `--time` it does no more
than that.
"""

import csv
import sys
import time
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

ATM = 1.01325
WARM = 293.15 / 307.15
VAPOUR = 0.0533
STPD = 273.15 / 293.15 / ATM
ALL_OXYGEN = 0.99
ROWS_ATM = [0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1, 1.2, 1.3, 1.4, 1.5, 1.6]
SHARES = [0.0] + [1.0 / m for m in (720, 570, 450, 360, 300, 240, 210, 180, 150, 120, 45)]
LAST_SLOPE = (SHARES[-1] - SHARES[-2]) / 0.1


def clock_rate(po2_bar):
    atm = po2_bar / ATM
    if atm > 1.6:
        return SHARES[-1] + LAST_SLOPE * (atm - 1.6)
    return float(np.interp(atm, ROWS_ATM, SHARES))


def unit_rate(po2_bar):
    above = (po2_bar / ATM - 0.5) / 0.5
    return above ** (5.0 / 6.0) if above > 0.0 else 0.0


class Loop:
    """One loop on one leg: the flows in every mode, and when the mode ends.

    y = oxygen, helium, all gas in the loop; drawn from cylinder 0 and 1; clock; units.
    """

    def __init__(self, case, p0, rate, metabolic):
        self.c, self.p0, self.rate, self.v = case, p0, rate, metabolic
        self.vl = case["loop_l"]
        self.growth = self.vl * WARM * rate

    def p(self, t):
        return self.p0 + self.rate * t

    def holds(self, t, litres):
        """Free litres that so many litres of loop hold."""
        return litres * WARM * (self.p(t) - VAPOUR)

    def flows(self, t, y, mode, short, given):
        """Gas in from cylinders 0 and 1, and out, in litres a minute."""
        raise NotImplementedError

    def settle(self, t, y, q0, q1, out, short):
        """Balances volume: a full loop vents what it can't hold; a short one vents nothing."""
        if short:
            return out
        return out + max(0.0, q0 + q1 - self.v - out - self.growth)

    def rhs(self, t, y, mode, short, given=None):
        o2, he, n = y[0], y[1], y[2]
        q0, q1, out = self.flows(t, y, mode, short, given)
        out = self.settle(t, y, q0, q1, out, short)
        (f0, h0), (f1, h1) = self.c["mixes"]
        d_o2 = q0 * f0 + q1 * f1 - self.v - out * o2 / n
        d_he = q0 * h0 + q1 * h1 - out * he / n
        d_n = q0 + q1 - self.v - out
        po2 = max(o2 / n * self.p(t), self.least_for_clock(t))
        return np.array([d_o2, d_he, d_n, q0, q1, clock_rate(po2), unit_rate(po2)])

    def controlled_rate(self, t, y, short, given):
        """How fast what the controller looks at moves, for a flow given to it."""
        d = self.rhs(t, y, "given", short, given)
        return self.looked_at_rate(t, y, d)


class SemiClosed(Loop):
    def least_for_clock(self, t):
        if self.c["controlled"] <= 0:
            return 0.0
        return min(self.c["set_point"], self.p(t)) if self.in_bar() else self.c["set_point"] * self.p(t)

    def in_bar(self):
        return self.c["set_point"] > 0.4

    def flows(self, t, y, mode, short, given):
        c = self.c
        controlled = {"above": 0.0, "below": c["controlled"], "given": given}[mode]
        fed = c["constant"] + controlled
        if short:
            make_up = min(c["make_up"], 1000.0)
        else:
            make_up = min(max(0.0, self.v + self.growth - fed), c["make_up"])
        return fed + make_up, 0.0, 0.0

    def looked_at(self, t, y):
        return y[0] / y[2] * (self.p(t) if self.in_bar() else 1.0) - self.c["set_point"]

    def looked_at_rate(self, t, y, d):
        fraction = d[0] * y[2] - y[0] * d[2]
        return fraction * self.p(t) + y[0] * y[2] * self.rate if self.in_bar() else fraction

    def greatest(self):
        return self.c["controlled"]


class Closed(Loop):
    """Cylinder 0 oxygen, cylinder 1 diluent."""

    def least_for_clock(self, t):
        return min(self.c["set_point"], self.p(t))

    def flows(self, t, y, mode, short, given):
        c = self.c
        used = min(c["controlled"], self.v + max(0.0, self.growth))
        oxygen = {"above": 0.0, "below": c["controlled"], "all": used, "given": given}[mode]
        if short:
            diluent = min(c["make_up"], 1000.0)
        else:
            diluent = min(max(0.0, self.v + self.growth - oxygen), c["make_up"])
        return oxygen, diluent, 0.0

    def looked_at(self, t, y):
        return y[0] / y[2] * self.p(t) - self.c["set_point"]

    def looked_at_rate(self, t, y, d):
        return (d[0] * y[2] - y[0] * d[2]) * self.p(t) + y[0] * y[2] * self.rate

    def greatest(self):
        return self.c["controlled"]


class Passive(Loop):
    def least_for_clock(self, t):
        return 0.0

    def spill(self, t):
        breathed = 25.0 * self.v * STPD
        bar = 1.0 if self.c["compensated"] else self.p(t)
        return breathed * WARM * (bar - VAPOUR) / self.c["ratio"]

    def flows(self, t, y, mode, short, given):
        spill = self.spill(t)
        added = max(0.0, spill + self.v + self.growth) if self.c["make_up"] > 0 else 0.0
        return added, 0.0, spill

    def looked_at(self, t, y):
        return 1.0

    def greatest(self):
        return 0.0


KINDS = {"semi-closed": SemiClosed, "closed": Closed, "passive": Passive}


def pick_mode(loop, t, y, short):
    if loop.greatest() <= 0.0:
        return "above"
    off = loop.looked_at(t, y)
    if abs(off) > 1e-9:
        if off < 0 and isinstance(loop, Closed) and not short and y[0] / y[2] >= ALL_OXYGEN - 1e-9:
            return "all"
        return "above" if off > 0 else "below"
    if loop.controlled_rate(t, y, short, 0.0) >= -1e-12:
        return "above"
    if loop.controlled_rate(t, y, short, loop.greatest()) <= 1e-12:
        return "below"
    return "held"


def run_leg(case, t_start, y, p0, p1, minutes, metabolic, samples, rows, marks):
    rate = (p1 - p0) / minutes
    loop = KINDS[case["kind"]](case, p0, rate, metabolic)
    t = 0.0
    while t < minutes - 1e-12:
        short = y[2] < loop.holds(t, loop.vl) - 1e-9
        mode = pick_mode(loop, t, y, short)
        if not short:
            given = None
            if mode == "held":
                given = hold(loop, t, y, short)
            d = loop.rhs(t, y, "given" if mode == "held" else mode, False, given)
            if d[2] < loop.growth - 1e-12:
                short = True
                mode = pick_mode(loop, t, y, short)

        def f(x, z):
            if mode == "held":
                return loop.rhs(x, z, "given", short, hold(loop, x, z, short))
            return loop.rhs(x, z, mode, short)

        ends = []
        if mode in ("above", "below", "all") and loop.greatest() > 0.0:
            reached = lambda x, z: loop.looked_at(x, z)
            reached.direction = -1.0 if mode == "above" else 1.0
            ends.append(reached)
        if mode == "held":
            can = lambda x, z: loop.controlled_rate(x, z, short, loop.greatest())
            can.direction = -1.0
            ends.append(can)
            need = lambda x, z: loop.controlled_rate(x, z, short, 0.0)
            need.direction = 1.0
            ends.append(need)
        if mode == "below" and isinstance(loop, Closed) and not short:
            nearly = lambda x, z: z[0] / z[2] - ALL_OXYGEN
            nearly.direction = 1.0
            ends.append(nearly)
        if short:
            full = lambda x, z: z[2] - loop.holds(x, loop.vl)
            full.direction = 1.0
            ends.append(full)
        if case["kind"] == "passive" and rate < 0.0:
            shut = lambda x, z: loop.spill(x) + loop.v + loop.growth
            shut.direction = -1.0
            ends.append(shut)
        gone = lambda x, z: z[0]
        gone.direction = -1.0
        ends.append(gone)
        for end in ends:
            end.terminal = True
        watched = {
            "below-floor": (lambda x, z: z[0] / z[2] - 0.21, -1.0),
            "oxygen-low": (lambda x, z: z[0] / z[2] * loop.p(x) - 0.18, -1.0),
            "faint": (lambda x, z: z[0] / z[2] * loop.p(x) - 0.16, -1.0),
            "oxygen-high": (lambda x, z: z[0] / z[2] * loop.p(x) - 1.4, 1.0),
            "loop-short": (lambda x, z: z[2] - loop.holds(x, loop.vl - 1.5), -1.0),
        }
        watchers = []
        for g, direction in watched.values():
            g.direction = direction
            watchers.append(g)
        out = solve_ivp(
            f, (t, minutes), y, method="DOP853", rtol=1e-12, atol=1e-14, events=ends + watchers, dense_output=False,
            t_eval=None, max_step=max(0.05, minutes / 40),
        )
        assert out.success, out.message
        for name, times in zip(watched, out.t_events[len(ends):]):
            for at in times:
                if at > t + 1e-9:
                    marks.append((name, t_start + at))
        t_new, y_new = out.t[-1], out.y[:, -1]
        wanted = [s for s in samples if t_start + t - 1e-12 <= s < t_start + t_new - 1e-12]
        if wanted:
            again = solve_ivp(
                f, (t, t_new), y, method="DOP853", rtol=1e-12, atol=1e-14, t_eval=[s - t_start for s in wanted],
                max_step=max(0.05, minutes / 40),
            )
            for s, column in zip(wanted, again.y.T):
                rows.append((s, column))
        if mode in ("above", "below", "all") and loop.greatest() > 0.0 and len(out.t_events[0]):
            marks.append(("set-point-reached", t_start + t_new))
        t, y = t_new, y_new
        if len(out.t_events[len(ends) - 1]):
            # Nobody goes on from here.
            marks.append(("oxygen-gone", t_start + t))
            return t_start + t, y, True
    return t_start + minutes, y, False


def hold(loop, t, y, short):
    rate = lambda q: loop.controlled_rate(t, y, short, q)
    low, high = rate(0.0), rate(loop.greatest())
    if low >= 0.0:
        return 0.0
    if high <= 0.0:
        return loop.greatest()
    return brentq(rate, 0.0, loop.greatest(), xtol=1e-15, rtol=8.9e-16)


def run_case(case, samples_per_leg=5):
    p = 1.0 + case["start_m"] / 10.0
    n = case["loop_l"] * WARM * (p - VAPOUR)
    y = np.array([case["start_o2"] * n, 0.0, n, 0.0, 0.0, 0.0, 0.0])
    t = 0.0
    rows, marks = [], []
    for to_m, minutes, metabolic in case["legs"]:
        p1 = 1.0 + to_m / 10.0
        samples = [t + minutes * i / samples_per_leg for i in range(samples_per_leg)]
        t, y, over = run_leg(case, t, y, p, p1, minutes, metabolic, samples, rows, marks)
        if over:
            break
        p = p1
    rows.append((t, y))
    return rows, marks


def semi(name, legs, **other):
    case = dict(
        name=name, kind="semi-closed", loop_l=6.0, constant=6.0, controlled=20.0, make_up=float("inf"), set_point=0.27,
        ratio=0.0, compensated=0, start_m=0.0, start_o2=0.17, mixes=[(0.36, 0.0), (0.0, 0.0)], legs=legs,
    )
    case.update(other)
    return case


def passive(name, legs, **other):
    case = semi(name, legs, kind="passive", constant=0.0, controlled=0.0, set_point=0.0, ratio=10.0)
    case.update(other)
    return case


def closed(name, legs, **other):
    case = semi(
        name, legs, kind="closed", constant=0.0, controlled=20.0, set_point=1.3, start_o2=0.7,
        mixes=[(1.0, 0.0), (0.21, 0.0)],
    )
    case.update(other)
    return case


INF = float("inf")
DIVE = semi(
    "morning", [(0.0, 5.0, 0.7), (28.0, 28.0 / 15.0, 1.0), (28.0, 20.0, 1.0), (21.0, 7.0 / 9.0, 1.0), (21.0, 8.0, 1.5),
                (6.0, 15.0 / 9.0, 1.0), (6.0, 3.0, 0.7), (3.0, 1.0 / 3.0, 0.7), (3.0, 5.0, 0.7), (0.0, 1.0 / 3.0, 0.7)],
)
CASES = [
    DIVE,
    semi("descent and bottom", [(30.0, 2.0, 1.0), (30.0, 20.0, 1.0)], start_o2=0.27547),
    semi("saturated and back", [(30.0, 10.0, 3.5), (30.0, 10.0, 1.0)], start_m=30.0, start_o2=0.27),
    semi("held on the way up", [(0.0, 30.0 / 9.0, 1.5)], start_m=30.0, start_o2=0.27),
    semi("rests on the way up", [(0.0, 30.0 / 9.0, 0.6)], start_m=30.0, start_o2=0.30),
    semi("both shut", [(30.0, 6.5, 1.5)], constant=0.0, controlled=0.0, start_m=30.0, start_o2=0.27),
    semi("both shut, no make-up", [(30.0, 4.1, 1.5)], constant=0.0, controlled=0.0, make_up=0.0, start_m=30.0,
         start_o2=0.27),
    semi("controlled shut", [(30.0, 12.0, 2.2), (0.0, 30.0 / 9.0, 2.2)], controlled=0.0, start_m=30.0, start_o2=0.27),
    semi("controlled shut, no make-up", [(30.0, 12.0, 2.2), (0.0, 30.0 / 9.0, 2.2)], controlled=0.0, make_up=0.0,
         start_m=30.0, start_o2=0.27),
    semi("constant shut", [(30.0, 2.0, 1.0), (30.0, 12.0, 2.2), (12.0, 2.0, 1.0), (12.0, 6.0, 0.7)], constant=0.0,
         start_o2=0.27),
    semi("constant shut, no make-up", [(25.0, 2.5, 1.0), (25.0, 12.0, 2.2), (12.0, 2.0, 1.0), (12.0, 6.0, 0.7)],
         constant=0.0, make_up=0.0, start_o2=0.26),
    semi("both shut, going up", [(0.0, 30.0 / 12.0, 1.5)], constant=0.0, controlled=0.0, start_m=30.0, start_o2=0.27),
    semi("both shut, no make-up, going up", [(30.0, 0.5, 1.5), (0.0, 30.0 / 12.0, 1.5)], constant=0.0, controlled=0.0,
         make_up=0.0, start_m=30.0, start_o2=0.27),
    semi("make-up capped", [(30.0, 1.5, 1.0), (30.0, 8.0, 1.0), (20.0, 1.0, 1.0)], make_up=2.0, start_o2=0.30),
    semi("no make-up, down", [(20.0, 2.0, 1.0), (20.0, 10.0, 1.0), (10.0, 1.0, 1.0)], make_up=0.0, start_o2=0.24),
    semi("constant feed alone", [(18.0, 1.2, 1.0), (18.0, 15.0, 1.2), (9.0, 1.0, 1.0), (9.0, 10.0, 2.2), (0.0, 1.0, 1.0)],
         constant=10.0, controlled=0.0, make_up=INF, mixes=[(0.40, 0.0), (0.0, 0.0)]),
    semi("trimix", [(40.0, 2.5, 1.0), (40.0, 12.0, 1.2), (21.0, 2.0, 1.0), (21.0, 5.0, 0.7), (0.0, 3.0, 0.7)],
         mixes=[(0.30, 0.30), (0.0, 0.0)], set_point=0.24),
    semi("supply below the set-point", [(10.0, 1.0, 1.0), (10.0, 20.0, 1.0)], mixes=[(0.25, 0.0), (0.0, 0.0)]),
    semi("in bar", [(28.0, 28.0 / 15.0, 1.0), (28.0, 15.0, 1.0), (20.0, 8.0 / 6.0, 1.0), (20.0, 8.0, 1.5), (24.0, 1.0, 1.5),
                    (24.0, 6.0, 1.0), (15.0, 3.0, 0.8), (15.0, 5.0, 0.8), (0.0, 5.0, 1.0)], set_point=0.9, mixes=[(0.40, 0.0), (0.0, 0.0)]),
    semi("in bar, no constant feed, slowly down", [(10.0, 1.0, 1.0), (10.0, 6.0, 1.0), (16.0, 20.0, 1.4), (30.0, 4.0, 1.0),
                                                   (30.0, 8.0, 2.0), (22.0, 8.0, 1.0)],
         constant=0.0, set_point=0.75, mixes=[(0.45, 0.2), (0.0, 0.0)]),
    semi("in bar, no make-up", [(25.0, 2.5, 1.0), (25.0, 12.0, 2.2), (12.0, 2.0, 1.0), (12.0, 6.0, 0.7), (16.0, 2.0, 0.7)],
         make_up=0.0, start_o2=0.26, set_point=0.8, mixes=[(0.40, 0.0), (0.0, 0.0)]),
    semi("slow and shallow", [(12.0, 4.0, 0.8), (24.0, 6.0, 1.4), (12.0, 5.0, 1.4), (0.0, 6.0, 0.9)], start_o2=0.25),
    passive("passive", [(30.0, 2.0, 1.0), (30.0, 15.0, 1.0), (12.0, 2.0, 1.2), (12.0, 10.0, 2.0), (0.0, 4.0, 1.0)]),
    passive("passive, fast way up", [(0.0, 1.0, 1.0)], start_m=30.0, start_o2=0.30),
    passive("passive, compensated", [(30.0, 2.0, 1.0), (30.0, 15.0, 1.0), (0.0, 4.5, 1.2)], compensated=1,
            mixes=[(0.50, 0.20), (0.0, 0.0)]),
    passive("passive, nothing added", [(30.0, 1.0, 1.2)], make_up=0.0, start_m=30.0, start_o2=0.27),
    passive("passive, nothing added, going up", [(30.0, 0.3, 1.2), (0.0, 6.0, 1.2)], make_up=0.0, start_m=30.0,
            start_o2=0.27, ratio=20.0),
    passive("passive, nothing added, slowly up", [(25.0, 0.3, 1.2), (20.0, 3.0, 1.2)], make_up=0.0, start_m=25.0,
            start_o2=0.3, ratio=25.0),
    passive("passive, nothing added, down", [(5.0, 2.0, 0.8)], make_up=0.0, start_o2=0.3, ratio=16.0),
    closed("closed", [(30.0, 2.0, 1.0), (30.0, 10.0, 1.0), (15.0, 15.0 / 9.0, 1.0), (15.0, 5.0, 1.5), (5.0, 3.0, 1.0)]),
    closed("closed, weak injector", [(25.0, 2.5, 1.0), (25.0, 12.0, 1.0), (2.0, 2.0, 1.0), (2.0, 10.0, 1.0)],
           controlled=4.0),
    closed("closed, up to where the set-point is out of reach", [(6.0, 6.0, 1.0), (1.0, 2.0, 1.0), (1.0, 8.0, 1.2), (5.0, 1.0, 1.0)],
           start_m=25.0, start_o2=0.37, controlled=10.0),
    closed("closed, down on a lean diluent", [(45.0, 6.0, 1.2), (45.0, 3.0, 1.0)], mixes=[(1.0, 0.0), (0.10, 0.6)], set_point=0.9),
    closed("closed, no oxygen", [(30.0, 2.0, 1.0), (30.0, 6.0, 1.0), (0.0, 3.0, 1.0)], controlled=0.0),
    closed("closed, trimix", [(60.0, 3.5, 1.0), (60.0, 12.0, 1.0), (30.0, 3.0, 1.0), (6.0, 4.0, 0.8)],
           mixes=[(1.0, 0.0), (0.16, 0.5)]),
    closed("closed, no diluent, staying", [(20.0, 10.0, 1.0), (8.0, 2.0, 1.0)], make_up=0.0, start_m=20.0,
           start_o2=0.40, set_point=1.2),
    closed("closed, no diluent, slowly down", [(10.0, 3.0, 1.0), (22.0, 30.0, 1.5), (14.0, 4.0, 1.0)], make_up=0.0,
           start_m=10.0, start_o2=0.5, set_point=1.0),
    closed("closed, little diluent", [(25.0, 2.0, 1.0), (25.0, 4.0, 1.0), (32.0, 8.0, 1.0), (20.0, 6.0, 1.0)], make_up=0.5,
           mixes=[(1.0, 0.0), (0.16, 0.3)]),
]


def text(x):
    return repr(float(x)) if not isinstance(x, str) else x


def main():
    started = time.perf_counter()
    run_case(DIVE, samples_per_leg=1)
    print(f"one semi-closed dive: {1e3 * (time.perf_counter() - started):.1f} ms")
    if "--time" in sys.argv[1:]:
        return
    target = Path(__file__).resolve().parent.parent / "loop_transients.csv"
    with target.open("w", newline="") as file:
        file.write("# source: computed by scripts/loop_transients.py (SciPy's DOP853, tolerances 1e-12): the gas balance\n")
        file.write("# itself, event by event; the loop's gas wet and at 34 C. Free litres, 1 bar at the surface, 10 m to a bar.\n")
        file.write("# case rows: kind, loop_l, constant, controlled or greatest injection, make_up, set_point (of a\n")
        file.write("# semi-closed loop a share up to 0.4, bar above), spill ratio,\n")
        file.write("# compensated, start_m, start_o2, mix of cylinder 0 and 1, legs as to_m/minutes/oxygen_lpm.\n")
        file.write("# at rows: minutes, oxygen, helium, litres in the loop, drawn from cylinder 0 and 1, clock, units.\n")
        file.write("# event rows: what, minutes.\n")
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["row", "case"] + [f"v{i}" for i in range(1, 14)])
        for case in CASES:
            rows, marks = run_case(case)
            mixes = [f"{o2}/{he}" for o2, he in case["mixes"]]
            legs = " ".join("/".join(repr(x) for x in leg) for leg in case["legs"])
            keys = ["loop_l", "constant", "controlled", "make_up", "set_point", "ratio", "compensated", "start_m", "start_o2"]
            writer.writerow(["case", case["name"], case["kind"]] + [text(case[k]) for k in keys] + mixes + [legs])
            for t, y in rows:
                o2, he, n, used0, used1, clock, units = y
                writer.writerow(["at", case["name"]] + [text(x) for x in (t, o2 / n, he / n, n, used0, used1, clock, units)])
            for name, t in sorted(marks, key=lambda mark: mark[1]):
                writer.writerow(["event", case["name"], name, text(t)])
            print(case["name"], len(rows), [f"{name} {t:.3f}" for name, t in marks])


if __name__ == "__main__":
    main()
