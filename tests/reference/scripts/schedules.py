#!/usr/bin/env python3
"""Integrates inert gas in sixteen compartments with SciPy, finds stops and no-stop times by trial on that, and writes
../schedules.csv and ../no_stop.csv.

What is integrated is dp/dt = ln 2/half-time * (fraction * (P(t) - 0.0627) - p) for nitrogen and helium; no solution of it
is used. Limits are looked at along the solver's own dense output. Conventions:

* pressure P = surface + depth/10 * 0.99998 bar (instruments: 1019.7 kg/m3), surface by ISO 2533;
* at the start the body is at 0.79 * (its pressure - 0.0627) of nitrogen;
* a direct way up that never exceeds the limit at the gradient high has no stops; otherwise the first stop is the deepest
  depth of a 3 m grid from which the way to the next would exceed the limit at the gradient low, and from there the
  gradient is straight in depth to the high one at the surface;
* a stop lasts the fewest whole minutes after which the way to the next depth, or from the shallowest stop to the surface,
  stays within the limit; the way to a stop is not part of it;
* on open circuit another gas is taken at the first depth of the grid where its oxygen is at no more than 1.6 bar, on the
  way up only and not on a direct one; that takes a minute on the new gas, before anything else is asked there;
* no-stop time: from arriving at depth; the descent at 20 m/min is before it, the ascent at 9 m/min within the limit.

The coefficients are ZH-L16C's as in src/physics/tissues.rs, from memory. Needs NumPy and SciPy (written with 1.17.1).
Prints its own time, and that for the 60 m dive with two deco gases.
"""

import csv
import time
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

HALF_N2 = np.array([5, 8, 12.5, 18.5, 27, 38.3, 54.3, 77, 109, 146, 187, 239, 305, 390, 498, 635.0])
A_N2 = np.array([1.1696, 1.0, 0.8618, 0.7562, 0.62, 0.5043, 0.441, 0.4, 0.375, 0.35, 0.3295, 0.3065, 0.2835, 0.261, 0.248, 0.2327])
B_N2 = np.array([0.5578, 0.6514, 0.7222, 0.7825, 0.8126, 0.8434, 0.8693, 0.891, 0.9092, 0.9222, 0.9319, 0.9403, 0.9477, 0.9544, 0.9602, 0.9653])
HALF_HE = np.array([1.88, 3.02, 4.72, 6.99, 10.21, 14.48, 20.53, 29.11, 41.2, 55.19, 70.69, 90.34, 115.29, 147.42, 188.24, 240.03])
A_HE = np.array([1.6189, 1.383, 1.1919, 1.0458, 0.922, 0.8205, 0.7305, 0.6502, 0.595, 0.5545, 0.5333, 0.5189, 0.5181, 0.5176, 0.5172, 0.5119])
B_HE = np.array([0.477, 0.5747, 0.6527, 0.7223, 0.7582, 0.7957, 0.8279, 0.8553, 0.8757, 0.8903, 0.8997, 0.9073, 0.9122, 0.9171, 0.9217, 0.9267])
RATES = np.log(2.0) / np.concatenate([HALF_N2, HALF_HE])
VAPOUR, AIR_N2 = 0.0627, 0.79
BAR_PER_M = 1019.7 * 9.80665e-5
ASCENT, DESCENT, GRID = 9.0, 20.0, 3.0
SEA = 1.01325


def iso_surface(altitude):
    h = 6356766.0 * altitude / (6356766.0 + altitude)
    return SEA * (1.0 - 0.0065 * h / 288.15) ** (9.80665 / (287.05287 * 0.0065))


class Diver:
    def __init__(self, surface, body):
        self.surface, self.depth, self.gas = surface, 0.0, None
        self.p = np.concatenate([np.full(16, AIR_N2 * (body - VAPOUR)), np.zeros(16)])

    def copy(self):
        other = Diver.__new__(Diver)
        other.surface, other.depth, other.gas, other.p = self.surface, self.depth, self.gas, self.p.copy()
        return other

    def bar(self, depth):
        return self.surface + BAR_PER_M * depth

    def go(self, depth, minutes):
        """Goes evenly to a depth; returns what tells depth and tensions at any share of the way."""
        if minutes <= 0.0:
            self.depth = depth
            return lambda share: (depth, self.p)
        o2, he = self.gas
        fractions = np.concatenate([np.full(16, 1.0 - o2 - he), np.full(16, he)])
        start, from_depth = self.bar(self.depth), self.depth
        slope = (self.bar(depth) - start) / minutes
        fall = lambda t, p: RATES * (fractions * (start + slope * t - VAPOUR) - p)
        solved = solve_ivp(fall, (0.0, minutes), self.p, method="DOP853", rtol=1e-11, atol=1e-13, dense_output=True)
        assert solved.success
        self.p, self.depth = solved.y[:, -1], depth
        return lambda share: (from_depth + (depth - from_depth) * share, solved.sol(share * minutes))


def excess(p, bar, gradient):
    n2, he = p[:16], p[16:]
    inert = n2 + he
    a, b = (A_N2 * n2 + A_HE * he) / inert, (B_N2 * n2 + B_HE * he) / inert
    return float(np.max(inert - bar - gradient * (a + bar / b - bar)))


def within(diver, to, line):
    """The diver after going up to a depth, or nothing where the line is broken on the way."""
    there = diver.copy()
    at = there.go(to, (diver.depth - to) / ASCENT)
    for share in np.linspace(0.0, 1.0, 13)[1:]:
        depth, p = at(share)
        if excess(p, there.bar(depth), line(depth)) > 1e-9:
            return None
    return there


def next_up(depth, shallowest):
    # The last stop has a depth of its own, of the grid or not.
    below = [grid for grid in np.arange(0.0, depth - 1e-6, GRID) if grid > shallowest + 1e-6]
    if below:
        return float(max(below))
    return float(shallowest) if depth > shallowest + 1e-6 else 0.0


def way_up(diver, gases, low, high, shallowest):
    """Stops as (depth, minutes) and the minutes to the surface."""
    if (there := within(diver, 0.0, lambda _: high)) is not None:
        minutes = diver.depth / ASCENT
        return [], minutes, there
    stops, minutes, first = [], 0.0, None
    stop = lambda depth, n: stops.append((depth, n))
    line = lambda depth: low if first is None else high + (low - high) * min(depth / first, 1.0)

    def better(depth, breathed):
        fitting = [g for g in gases if g[0] * diver.bar(depth) <= 1.6 + 1e-9 and g[0] > breathed[0]]
        return max(fitting, default=None)

    while diver.depth > 1e-9:
        on_grid = abs(diver.depth / GRID - round(diver.depth / GRID)) < 1e-9 and diver.depth >= shallowest
        on_grid = on_grid or abs(diver.depth - shallowest) < 1e-9
        if on_grid and (gas := better(diver.depth, diver.gas)):
            diver.gas = gas
            diver.go(diver.depth, 1.0)
            stop(diver.depth, 1.0)
            minutes += 1.0
            continue
        to = next_up(diver.depth, shallowest)
        there = within(diver, to, line)
        if there is None and first is None:
            first = diver.depth
            there = within(diver, to, line)
        waited = 0
        while there is None:
            diver.go(diver.depth, 1.0)
            waited += 1
            assert waited < 2000
            there = within(diver, to, line)
        if waited:
            stop(diver.depth, float(waited))
            minutes += waited
        minutes += (diver.depth - to) / ASCENT
        diver = there
    merged = []
    for depth, n in stops:
        if merged and merged[-1][0] == depth:
            merged[-1] = (depth, merged[-1][1] + n)
        else:
            merged.append((depth, n))
    return merged, minutes, diver


def dive(diver, gases, depth, stay, low, high, shallowest):
    diver.gas = gases[0]
    diver.go(depth, depth / DESCENT)
    diver.go(depth, stay)
    return way_up(diver, gases, low / 100.0, high / 100.0, shallowest)


AIR, EAN32, EAN36 = (0.21, 0.0), (0.32, 0.0), (0.36, 0.0)
HALF, RICH = (0.5, 0.0), (0.99, 0.0)
TRIMIX, LIGHT, HELIOX = (0.18, 0.45), (0.21, 0.35), (0.21, 0.79)
# gases, depth, stay, low, high, shallowest, altitude, body's altitude, (interval, depth, stay) of a dive before
CASES = [
    ([AIR], 30, 25, 30, 70, 3, 0, 0, None),
    ([AIR], 30, 25, 45, 80, 3, 0, 0, None),
    ([AIR], 30, 25, 85, 85, 3, 0, 0, None),
    ([AIR], 42, 20, 50, 80, 3, 0, 0, None),
    ([AIR], 42, 20, 100, 100, 3, 0, 0, None),
    ([AIR], 24, 30, 45, 80, 3, 0, 0, None),
    ([AIR], 36, 30, 30, 70, 6, 0, 0, None),
    ([EAN32], 33, 30, 30, 70, 3, 0, 0, None),
    ([EAN36], 28, 45, 45, 80, 3, 0, 0, None),
    ([EAN32, HALF], 33, 40, 30, 80, 3, 0, 0, None),
    ([LIGHT, HALF], 45, 25, 30, 70, 3, 0, 0, None),
    ([LIGHT], 45, 25, 50, 80, 3, 0, 0, None),
    ([TRIMIX, HALF, RICH], 60, 20, 30, 80, 3, 0, 0, None),
    ([TRIMIX, HALF, RICH], 60, 20, 85, 85, 3, 0, 0, None),
    ([TRIMIX, HALF, RICH], 60, 25, 50, 80, 6, 0, 0, None),
    ([AIR], 30, 25, 30, 70, 3, 1500, 0, None),
    ([AIR], 30, 25, 30, 70, 3, 1500, 1500, None),
    ([TRIMIX, HALF], 51, 20, 40, 85, 3, 1500, 0, None),
    ([AIR], 24, 30, 45, 80, 3, 0, 0, (60, 30, 20)),
    ([AIR], 30, 20, 30, 70, 3, 0, 0, (95, 30, 25)),
    ([TRIMIX, HALF, RICH], 51, 20, 30, 80, 3, 0, 0, (120, 60, 20)),
    # Who may go on may not do so a minute later: helium leaves and nitrogen comes, so the fewest minutes are no bound.
    ([HELIOX], 63, 5, 45, 80, 6, 0, 0, None),
]

# Bodies leg by leg on open circuit: altitude, body's altitude, then legs of (gas, depth, minutes).
BODIES = [
    (0, 0, [(AIR, 30, 1.5), (AIR, 30, 25), (AIR, 9, 2.1), (AIR, 9, 5), (AIR, 0, 1), (AIR, 0, 90)]),
    (0, 0, [(EAN32, 33, 1.65), (EAN32, 33, 20), (EAN32, 6, 3), (EAN32, 12, 0.6), (EAN32, 12, 15), (EAN32, 0, 1.3)]),
    (0, 0, [(HALF, 12, 1), (TRIMIX, 60, 4), (TRIMIX, 60, 18), (TRIMIX, 21, 4.3), (HALF, 21, 3), (HALF, 6, 1.7),
            (RICH, 6, 20), (RICH, 0, 2)]),
    (1500, 0, [(HELIOX, 63, 3.15), (HELIOX, 63, 10), (HELIOX, 30, 3.7), (AIR, 30, 5), (AIR, 9, 2.3), (AIR, 9, 30)]),
    (2400, 2400, [(LIGHT, 45, 3), (LIGHT, 45, 30), (LIGHT, 45, 240), (LIGHT, 15, 3.3), (EAN36, 15, 12)]),
]

NO_STOP = [
    (gas, depth, high, altitude)
    for gas, depths in [(AIR, [12, 15, 18, 21, 24, 27, 30, 33, 36, 39, 42]), (EAN32, [18, 24, 30, 36]), (EAN36, [18, 24, 28])]
    for depth in depths
    for high in [70, 80, 100]
    for altitude in [0]
] + [(AIR, depth, 80, 1500) for depth in [15, 21, 27, 33]]


def no_stop(gas, depth, high, altitude):
    surface = iso_surface(altitude)
    diver = Diver(surface, surface)
    diver.gas = gas
    diver.go(depth, depth / DESCENT)

    def over(stay):
        later = diver.copy()
        later.go(depth, stay)
        at = later.go(0.0, depth / ASCENT)
        return max(excess(p, later.bar(d), high / 100.0) for d, p in map(at, np.linspace(0.0, 1.0, 25)))

    if over(0.0) >= 0.0:
        return 0.0
    upper = 10.0
    while over(upper) < 0.0:
        upper *= 2.0
        if upper > 1200.0:
            return None
    return brentq(over, 0.0, upper, xtol=1e-8)


def text(gases):
    return ";".join(f"{o2:g}/{he:g}" for o2, he in gases)


def main():
    folder = Path(__file__).resolve().parent.parent
    began = time.perf_counter()
    note = "# Written by scripts/schedules.py (SciPy, its own code path); conventions stand at its head.\n"
    with open(folder / "schedules.csv", "w", newline="") as file:
        file.write(note)
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow("gases depth_m stay_min low high shallowest_m surface_bar body_bar interval_min before_depth_m "
                      "before_stay_min stops way_up_min inert_bar".split())
        for gases, depth, stay, low, high, shallowest, altitude, lives, before in CASES:
            surface, body = iso_surface(altitude), iso_surface(lives)
            diver = Diver(surface, body)
            case = time.perf_counter()
            if before:
                _, _, diver = dive(diver, gases, before[1], before[2], low, high, shallowest)
                diver.gas = (1.0 - AIR_N2, 0.0)
                diver.go(0.0, before[0])
            stops, minutes, end = dive(diver, gases, depth, stay, low, high, shallowest)
            if len(gases) == 3 and depth == 60 and low == 30:
                print(f"60 m, two deco gases: {time.perf_counter() - case:.3f} s")
            rows.writerow([text(gases), depth, stay, low, high, shallowest, f"{surface:.12f}", f"{body:.12f}",
                           *(before or ("", "", "")), ";".join(f"{d:g}:{n:g}" for d, n in stops), f"{minutes:.9f}",
                           ";".join(f"{x:.9f}" for x in end.p)])
    with open(folder / "tissues.csv", "w", newline="") as file:
        file.write(note)
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow("profile surface_bar body_bar gas depth_m minutes nitrogen_bar helium_bar".split())
        for number, (altitude, lives, legs) in enumerate(BODIES):
            surface, body = iso_surface(altitude), iso_surface(lives)
            diver = Diver(surface, body)
            for gas, depth, minutes in legs:
                diver.gas = gas
                diver.go(depth, minutes)
                nitrogen, helium = diver.p[:16], diver.p[16:]
                rows.writerow([number, f"{surface:.12f}", f"{body:.12f}", text([gas]), depth, minutes,
                               ";".join(f"{x:.9f}" for x in nitrogen), ";".join(f"{x:.9f}" for x in helium)])
    with open(folder / "no_stop.csv", "w", newline="") as file:
        file.write(note)
        rows = csv.writer(file, lineterminator="\n")
        rows.writerow("gas depth_m high surface_bar no_stop_min".split())
        for gas, depth, high, altitude in NO_STOP:
            minutes = no_stop(gas, depth, high, altitude)
            rows.writerow([text([gas]), depth, high, f"{iso_surface(altitude):.12f}", "" if minutes is None else f"{minutes:.6f}"])
    print(f"all: {time.perf_counter() - began:.1f} s")


if __name__ == "__main__":
    main()
