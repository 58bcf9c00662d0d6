"""The way up: stops by diving them, and the longest stay without any.

Conventions (the method page and the design of the schedule): a direct way up that never exceeds the limit at the gradient
high has no stops. Otherwise the first stop is the deepest depth of a 3 m grid from which the way to the next would exceed
the limit at the gradient low; from there the gradient is straight in depth to the high one at the surface. A stop lasts
the fewest whole minutes after which the way to the next depth keeps to it. On open circuit a richer gas is taken at the
first depth of the grid where it may be breathed, which takes a minute.
"""

import numpy as np
from scipy.optimize import brentq

from schedules import excess

from .integrate import TISSUES, travel

GRID = 3.0
SHARES = np.linspace(0.0, 1.0, 13)[1:]


class WayUp:
    """How a diver means to go up."""

    def __init__(self, low, high, shallowest, rate, work, gases=(), most=1.6):
        self.low, self.high, self.shallowest, self.rate, self.work = low, high, shallowest, rate, work
        #: Names of the cylinders that may be taken on open circuit, and the oxygen pressure that they may reach.
        self.gases, self.most = gases, most

    def within(self, diver, to, line):
        """The diver after going up to a depth and the pieces, or nothing where the limit is broken on the way."""
        there = diver.copy()
        pieces = travel(there, to, (diver.depth - to) / self.rate, self.work)
        for piece in pieces:
            for share in SHARES:
                depth, y = piece.at(piece.start + share * piece.minutes)
                if excess(y[TISSUES], diver.setting.bar(depth), line(depth)) > 1e-9:
                    return None
        return there, pieces

    def next_up(self, depth):
        # The last stop has a depth of its own, of the grid or not.
        below = [grid for grid in np.arange(0.0, depth - 1e-6, GRID) if grid > self.shallowest + 1e-6]
        if below:
            return float(max(below))
        return float(self.shallowest) if depth > self.shallowest + 1e-6 else 0.0

    def better(self, diver):
        if diver.source == "loop":
            return None
        mixes = diver.setting.mixes
        fitting = [
            name for name in self.gases
            if mixes[name][0] * diver.bar <= self.most + 1e-9 and mixes[name][0] > mixes[diver.source][0] + 1e-9
        ]
        return max(fitting, key=lambda name: mixes[name][0], default=None)

    def home(self, diver):
        """Stops as [start, depth, minutes], the pieces, the diver at the surface."""
        diver = diver.copy()
        if self.low is None:
            pieces = travel(diver, 0.0, diver.depth / self.rate, self.work)
            return [], pieces, diver
        if (direct := self.within(diver, 0.0, lambda _: self.high)) is not None:
            return [], direct[1], direct[0]
        stops, pieces, first = [], [], None

        def line(depth):
            return self.low if first is None else self.high + (self.low - self.high) * min(depth / first, 1.0)

        def wait():
            pieces.extend(travel(diver, diver.depth, 1.0, self.work))
            if stops and stops[-1][1] == diver.depth:
                stops[-1][2] += 1
            else:
                stops.append([diver.t - 1.0, diver.depth, 1])

        while diver.depth > 1e-9:
            on_grid = abs(diver.depth / GRID - round(diver.depth / GRID)) < 1e-9 and diver.depth >= self.shallowest
            on_grid = on_grid or abs(diver.depth - self.shallowest) < 1e-9
            if on_grid and (gas := self.better(diver)):
                diver.source = gas
                wait()
                continue
            to = self.next_up(diver.depth)
            there = self.within(diver, to, line)
            if there is None and first is None:
                first = diver.depth
                there = self.within(diver, to, line)
            while there is None:
                if diver.t > 1000.0:
                    raise ArithmeticError("never surfaces")
                wait()
                there = self.within(diver, to, line)
            diver = there[0]
            pieces.extend(there[1])
        return stops, pieces, diver

    def no_stop(self, diver, work, most=200.0):
        """Minutes that a diver may stay here and still go straight up within the gradient high; None beyond `most`."""

        def over(stay):
            later = diver.copy()
            travel(later, later.depth, stay, work)
            worst = -np.inf
            for piece in travel(later, 0.0, later.depth / self.rate, self.work):
                for share in SHARES:
                    depth, y = piece.at(piece.start + share * piece.minutes)
                    worst = max(worst, excess(y[TISSUES], diver.setting.bar(depth), self.high))
            return worst

        if over(0.0) >= 0.0:
            return 0.0
        if over(most) < 0.0:
            return None
        return brentq(over, 0.0, most, xtol=1e-4)
