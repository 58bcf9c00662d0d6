#!/usr/bin/env python3
"""Integrates a semi-closed loop and inert gas in sixteen compartments together with SciPy and writes
../tissues_on_loops.csv.

What is integrated are the litres of oxygen and helium in a loop that is kept full: what is fed and made up, what the body
takes, what is vented at the loop's own composition; and dp/dt = ln 2/half-time * (fraction * (P - 0.0627) - p) for
nitrogen and helium on what the loop then holds. Nothing is solved beforehand. Frame: 1 bar at the surface, 10 m to a bar,
a 6 L loop at 34 C and saturated (so many litres hold that * (P - 0.0533) * 293.15/307.15 free ones), all litres free; no
controller. Coefficients as in schedules.py. Needs NumPy and SciPy (written with 1.17.1).
"""

import csv
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp

from schedules import AIR_N2, RATES, VAPOUR

LOOP = 6.0
WARM = 293.15 / 307.15
WET = 0.0533
# supply oxygen, helium, constant feed, whether make-up is there; legs of (depth, minutes, oxygen the body takes)
CASES = [
    ("constant feed, one depth", 0.36, 0.0, 6.0, [(30, 2.0, 1.0), (30, 25.0, 1.0)]),
    ("hard work, lean", 0.36, 0.0, 6.0, [(20, 1.0, 1.0), (20, 12.0, 2.0), (20, 10.0, 0.7)]),
    ("up and down", 0.40, 0.0, 8.0, [(24, 2.0, 1.0), (24, 8.0, 1.5), (6, 2.0, 1.0), (6, 5.0, 1.0), (15, 1.0, 1.0), (0, 3.0, 1.0)]),
    ("helium", 0.25, 0.40, 9.0, [(45, 3.0, 1.0), (45, 15.0, 1.2), (12, 4.0, 1.0), (12, 6.0, 0.8)]),
]


def leg(y, depth, to, minutes, supply, helium, feed, takes):
    start, slope = 1.0 + depth / 10.0, (to - depth) / 10.0 / minutes
    grows = LOOP * WARM * slope

    def rates(t, y):
        bar = start + slope * t
        held = LOOP * WARM * (bar - WET)
        o2, he = y[0] / held, y[1] / held
        comes = max(feed, takes + grows)
        vented = comes - takes - grows
        inspired = np.concatenate([np.full(16, 1.0 - o2 - he), np.full(16, he)]) * (bar - VAPOUR)
        loop = [comes * supply - takes - vented * o2, comes * helium - vented * he]
        return np.concatenate([loop, RATES * (inspired - y[2:])])

    solved = solve_ivp(rates, (0.0, minutes), y, method="DOP853", rtol=1e-11, atol=1e-12)
    assert solved.success
    return solved.y[:, -1]


def main():
    folder = Path(__file__).resolve().parent.parent
    with open(folder / "tissues_on_loops.csv", "w", newline="") as file:
        file.write("# Written by scripts/tissues_on_loops.py (SciPy); conventions stand at its head.\n")
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow("case supply_o2 supply_he feed_lpm legs loop_o2 loop_he inert_bar".split())
        for name, supply, helium, feed, legs in CASES:
            y = np.concatenate([[LOOP * WARM * (1.0 - WET) * 0.27, 0.0], np.full(16, AIR_N2 * (1.0 - VAPOUR)), np.zeros(16)])
            depth = 0.0
            for number, (to, minutes, takes) in enumerate(legs):
                y = leg(y, depth, to, minutes, supply, helium, feed, takes)
                depth = to
                held = LOOP * WARM * (1.0 + depth / 10.0 - WET)
                done = ";".join(f"{d}:{m:g}:{v:g}" for d, m, v in legs[: number + 1])
                rows.writerow([name, supply, helium, feed, done, f"{y[0] / held:.12f}", f"{y[1] / held:.12f}",
                               ";".join(f"{x:.9f}" for x in y[2:])])


if __name__ == "__main__":
    main()
