"""One leg: pressure moves evenly, and everything else is integrated along with it.

y = oxygen, helium and all gas in the loop; 32 tensions; clock (1 is its limit); pulmonary units; what every cylinder gave.
"""

from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from loop_transients import clock_rate, unit_rate
from schedules import AIR_N2, RATES, VAPOUR

from .apparatus import Instant
from .world import HALVING, SUIT_L, WING_DEEP_L

O2, HE, ALL = 0, 1, 2
TISSUES = slice(3, 35)
CLOCK, UNITS, DRAWS = 35, 36, 37


@dataclass
class Setting:
    """What doesn't change while a diver is in the water."""

    surface: float
    bar_per_m: float
    loop: object | None
    #: Names of cylinders, in the order of their draws, and by name the mix breathed as (oxygen, helium).
    cylinders: list
    mixes: dict
    #: By role the name of the cylinder that feeds the loop.
    feeds: dict
    inflates: str | None
    tolerance: float = 1e-8

    def bar(self, depth):
        return self.surface + self.bar_per_m * depth


@dataclass
class Work:
    """Oxygen that the body takes and gas breathed on open circuit, free litres a minute."""

    oxygen: float
    gas: float


@dataclass
class Piece:
    """A stretch along which no valve switched, and what the solver knows of it."""

    start: float
    minutes: float
    from_depth: float
    depth: float
    source: str
    #: What y is so many minutes into the piece.
    solution: object

    def at(self, t):
        share = (t - self.start) / self.minutes if self.minutes > 0 else 1.0
        return self.from_depth + (self.depth - self.from_depth) * share, self.solution(t - self.start)


@dataclass
class Diver:
    """A diver at an instant."""

    setting: Setting
    y: np.ndarray
    depth: float = 0.0
    t: float = 0.0
    #: "loop", or the name of the cylinder breathed.
    source: str = "loop"

    def copy(self):
        return Diver(self.setting, self.y.copy(), self.depth, self.t, self.source)

    @property
    def bar(self):
        return self.setting.bar(self.depth)

    @property
    def o2(self):
        return self.y[O2] / self.y[ALL]

    def draw(self, name, litres):
        self.y[DRAWS + self.setting.cylinders.index(name)] += litres


class Leg:
    """The equations of one leg."""

    def __init__(self, diver, to, minutes, work):
        self.s, self.loop, self.work = diver.setting, diver.setting.loop, work
        self.from_depth, self.to, self.minutes = diver.depth, to, minutes
        self.start, self.source = self.s.bar(diver.depth), diver.source
        self.slope = (self.s.bar(to) - self.start) / minutes if minutes > 0 else 0.0
        self.breathes_loop = diver.source == "loop"
        if self.loop:
            self.grows = self.loop.volume * self.loop.model.slope * self.slope
        self.n = len(diver.y)

    def bar(self, t):
        return self.start + self.slope * t

    def full(self, t):
        return self.loop.model.held(self.loop.volume, self.bar(t))

    def balance(self, t, y, opened, short):
        """What comes, by role, and how oxygen, helium and all gas in the loop change."""
        n, takes = y[ALL], self.work.oxygen
        at = Instant(self.bar(t), takes, self.grows, short, y[O2] / n)
        flows, spill = self.loop.flows(at, opened)
        comes = sum(flow for _, flow, _ in flows)
        vents = spill if short else spill + max(0.0, comes - takes - spill - self.grows)
        d_o2, d_he = -takes - vents * y[O2] / n, -vents * y[HE] / n
        for role, flow, _ in flows:
            o2, he = self.s.mixes[self.s.feeds[role]]
            d_o2 += flow * o2
            d_he += flow * he
        return flows, d_o2, d_he, comes - takes - vents

    def turns(self, t, y, opened, short):
        """How fast what the controller looks at moves."""
        _, d_o2, _, d_n = self.balance(t, y, opened, short)
        ahead = 1e-6
        now = self.loop.looked_at(y[O2] / y[ALL], self.bar(t))
        then = self.loop.looked_at((y[O2] + d_o2 * ahead) / (y[ALL] + d_n * ahead), self.bar(t + ahead))
        return (then - now) / ahead

    def holding(self, t, y, short):
        """The flow at which what the controller looks at stands still. Its speed is made of straight lines in the flow,
        with corners where a make-up valve need no longer be wide open, and where it shuts and the loop begins to vent."""
        shut = self.work.oxygen + self.grows - self.loop.constant
        corners = [shut - self.loop.make_up, shut]
        corners = [0.0, *(corner for corner in corners if 0.0 < corner < self.loop.greatest), self.loop.greatest]
        speeds = [self.turns(t, y, q, short) for q in corners]
        if speeds[0] >= 0.0:
            return 0.0
        for (a, b), (u, v) in zip(zip(corners, corners[1:]), zip(speeds, speeds[1:])):
            if u < 0.0 <= v:
                held = a + (b - a) * u / (u - v)
                # No corner was forgotten.
                assert abs(self.turns(t, y, held, short)) < 1e-5
                return held
        return self.loop.greatest

    def mode(self, t, y, short):
        """Above the set-point, below it, or held on it."""
        if not self.loop or self.loop.greatest <= 0.0 or self.loop.set_point is None:
            return "above"
        off = self.loop.looked_at(y[O2] / y[ALL], self.bar(t))
        if abs(off) > 1e-7:
            return "above" if off > 0 else "below"
        if self.turns(t, y, 0.0, short) >= 0.0:
            return "above"
        return "held" if self.turns(t, y, self.loop.greatest, short) > 0.0 else "below"

    def opened(self, t, y, mode, short):
        if mode == "held":
            return self.holding(t, y, short)
        return self.loop.greatest if mode == "below" else 0.0

    def rhs(self, t, y, mode, short):
        d = np.zeros(self.n)
        bar, names = self.bar(t), self.s.cylinders
        if self.breathes_loop:
            flows, d[O2], d[HE], d[ALL] = self.balance(t, y, self.opened(t, y, mode, short), short)
            for role, flow, _ in flows:
                d[DRAWS + names.index(self.s.feeds[role])] += flow
            o2, he = y[O2] / y[ALL], y[HE] / y[ALL]
            simulated, asked = o2 * bar, self.loop.asked(o2, bar)
            toxic = simulated if asked is None else max(simulated, asked)
            # Inert gas by the leaner of what is simulated and what is asked for.
            lean = o2 if asked is None else min(o2, asked / bar)
            inert, helium = 1.0 - lean, he if o2 >= 1.0 else he * (1.0 - lean) / (1.0 - o2)
        else:
            o2, he = self.s.mixes[self.source]
            d[DRAWS + names.index(self.source)] += self.work.gas * bar
            toxic, inert, helium = o2 * bar, 1.0 - o2, he
        if self.s.inflates and self.slope > 0.0:
            d[DRAWS + names.index(self.s.inflates)] += (SUIT_L + WING_DEEP_L) * self.slope
        dry = bar - VAPOUR
        d[3:19] = (inert - helium) * dry
        d[19:35] = helium * dry
        d[TISSUES] = RATES * (d[TISSUES] - y[TISSUES])
        d[CLOCK], d[UNITS] = clock_rate(toxic), unit_rate(toxic)
        return d

    def runs_short(self, t, y):
        if not self.breathes_loop:
            return False
        if y[ALL] < self.full(t) - 1e-7:
            return True
        opened = self.opened(t, y, self.mode(t, y, False), False)
        return self.balance(t, y, opened, False)[3] < self.grows - 1e-9

    def events(self, mode, short):
        """What ends a stretch: the set-point is reached, can't be held any more, or the loop is full again."""
        found = []
        if not self.breathes_loop:
            return found
        if self.loop.greatest > 0.0 and self.loop.set_point is not None:
            if mode == "held":
                end = lambda t, y: self.turns(t, y, self.loop.greatest, short)
                still = lambda t, y: self.turns(t, y, 0.0, short)
                still.direction = 1.0
                found.append(still)
            else:
                end = lambda t, y: self.loop.looked_at(y[O2] / y[ALL], self.bar(t))
            end.direction = 1.0 if mode == "below" else -1.0
            found.append(end)
        if short:
            full = lambda t, y: y[ALL] - self.full(t)
            full.direction = 1.0
            found.append(full)
        for end in found:
            end.terminal = True
        return found


def tolerances(n, rtol):
    atol = np.full(n, rtol)
    atol[CLOCK] = 1e-8
    atol[UNITS] = 1e-6
    atol[DRAWS:] = 1e-6
    return atol


def travel(diver, to, minutes, work):
    """Takes a diver evenly to a depth; returns the pieces. The diver is changed."""
    pieces = []
    if minutes <= 1e-12:
        diver.depth = to
        return pieces
    leg = Leg(diver, to, minutes, work)
    t, y, start = 0.0, diver.y, diver.t
    s = diver.setting
    for _ in range(200):
        if t >= minutes - 1e-10:
            break
        short = leg.runs_short(t, y)
        mode = leg.mode(t, y, short) if leg.breathes_loop else "above"
        solved = solve_ivp(
            lambda x, z: leg.rhs(x, z, mode, short), (t, minutes), y, method="DOP853", rtol=s.tolerance,
            atol=tolerances(leg.n, s.tolerance), events=leg.events(mode, short), dense_output=True,
            # On a way up or down no corner of the clock's table is stepped over.
            max_step=0.25 if leg.slope else np.inf,
        )
        assert solved.success, solved.message
        end = float(solved.t[-1])
        at = lambda x: leg.from_depth + (to - leg.from_depth) * x / minutes
        pieces.append(Piece(start + t, end - t, at(t), at(end), diver.source, lambda x, sol=solved.sol, t=t: sol(x + t)))
        t, y = end, solved.y[:, -1].copy()
        if leg.breathes_loop:
            # On the set-point or full to the litre, where the solver found it so: no second event a rounding later.
            off = leg.loop.looked_at(y[O2] / y[ALL], leg.bar(t)) if leg.loop.set_point is not None else 1.0
            if abs(off) < 1e-6 and leg.loop.greatest > 0.0:
                y[O2] -= off * y[ALL] / (leg.loop.looked_at(1.0, leg.bar(t)) - leg.loop.looked_at(0.0, leg.bar(t)))
    else:
        raise ArithmeticError("valves flutter")
    diver.y, diver.depth, diver.t = y, to, start + minutes
    return pieces


def rest_at_surface(diver, minutes):
    """Time on land: tissues follow air, the clock halves, the units stay."""
    bar = diver.setting.surface
    inspired = np.concatenate([np.full(16, AIR_N2 * (bar - VAPOUR)), np.zeros(16)])

    def fall(_, y):
        return np.concatenate([RATES * (inspired - y[:32]), [-np.log(2.0) / HALVING * y[32]]])

    before = np.concatenate([diver.y[TISSUES], [diver.y[CLOCK]]])
    solved = solve_ivp(fall, (0.0, minutes), before, method="DOP853", rtol=1e-10, atol=1e-12)
    assert solved.success
    diver.y[TISSUES], diver.y[CLOCK] = solved.y[:32, -1], solved.y[32, -1]
