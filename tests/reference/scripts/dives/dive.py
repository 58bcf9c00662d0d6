"""A plan's dives, one after the other: what a dive begins with, its legs, the way home."""

from bisect import bisect_right
from dataclasses import dataclass

import numpy as np
from scipy.integrate import solve_ivp

from schedules import AIR_N2, VAPOUR

from . import cylinders
from .apparatus import Closed, Passive, SemiClosed
from .ascent import WayUp
from .integrate import ALL, CLOCK, DRAWS, HE, O2, UNITS, Diver, Setting, Work, rest_at_surface, travel
from .world import BAR_PER_M, EXHALED, LINE, STPD, WING_DEEP_L, WING_UP_L, Model, iso_surface

RATE_DOWN, RATE_UP = 15.0, 9.0
PRE_BREATHE = 5.0
#: Work of a leg that says nothing, and of the way home.
UNSAID, HOME = "moderate", "light"


@dataclass
class Stay:
    """A stay, and how long it might have been without stops."""

    start: float
    minutes: float
    no_stop: float | None


@dataclass
class Track:
    """A dive as it went."""

    dive: str
    setting: Setting
    pieces: list
    #: Start, depth and minutes of each stop that was worked out.
    stops: list
    #: The diver at the surface, before the wing is filled there.
    end: Diver
    stays: list
    #: The same way on the richer mixes: what the clocks go by.
    rich: list

    @property
    def starts(self):
        return self.pieces[0].start

    def at(self, t, pieces=None):
        """Depth, y and the piece at an instant; at a corner what comes, except at the end."""
        pieces = pieces or self.pieces
        starts = [piece.start for piece in pieces]
        piece = pieces[max(0, bisect_right(starts, t + 1e-9) - 1)]
        return *piece.at(min(max(t, piece.start), piece.start + piece.minutes)), piece

    def jumps(self, t):
        """Whether something changes at once at that instant."""
        return any(abs(piece.start - t) < 1e-3 for piece in self.pieces)

    def figures(self, t):
        """What the comparison looks at."""
        depth, y, piece = self.at(t)
        clocks = self.at(t, self.rich)[1]
        o2 = 100.0 * float(y[O2] / y[ALL]) if self.setting.loop else None
        used = {name: float(y[DRAWS + i]) for i, name in enumerate(self.setting.cylinders)}
        figures = {
            "depth_m": max(depth, 0.0), "source": piece.source, "o2_percent": o2,
            "cns_percent": 100.0 * float(clocks[CLOCK]), "uptd": float(clocks[UNITS]), "used_l": used, "no_stop_min": None,
        }
        for stay in self.stays:
            left = None if stay.no_stop is None else stay.no_stop - (t - stay.start)
            if stay.start <= t < stay.start + stay.minutes - 1e-3 and left is not None and left > 0.0:
                figures["no_stop_min"] = left
        return figures


def gas_rate(plan, level):
    """Open circuit at a level: between rest and peak it goes with oxygen."""
    rest, peak = plan.gas
    low, high = plan.oxygen["rest"], plan.oxygen["peak"]
    return rest + (peak - rest) * (plan.oxygen[level] - low) / (high - low)


def work(plan, level):
    return Work(plan.oxygen[level] * STPD, gas_rate(plan, level))


def written(set_point):
    """A semi-closed loop's set-point as written, and whether it is a pressure: percent from 21 up, bar from 1.6 down."""
    return (set_point, True) if set_point < 5.0 else (set_point / 100.0, False)


def make_loop(plan, dive, model):
    unit = plan.unit
    if unit.kind == "open":
        return None
    if unit.kind == "passive":
        return Passive(model, unit.loop, ratio=unit.ratio, compensated=unit.compensated)
    make_up = 0.0 if unit.make_up is None else unit.make_up
    if unit.kind == "closed":
        return Closed(model, unit.loop, unit.inject, dive.set_point, make_up=make_up)
    set_point, in_bar = (None, False) if dive.set_point is None or not unit.controlled else written(dive.set_point)
    return SemiClosed(model, unit.loop, unit.controlled, set_point, unit.constant, make_up, in_bar)


def begin(plan, dive, setting):
    """A diver at the surface, about to breathe from the loop for the first time that day."""
    body = iso_surface(plan.lives if plan.altitude > 300.0 else plan.altitude)
    y = np.zeros(DRAWS + len(setting.cylinders))
    y[3:19] = AIR_N2 * (body - VAPOUR)
    diver = Diver(setting, y)
    diver.source = "loop" if setting.loop else dive.takes["back"]
    fresh_loop(diver)
    return diver


def fresh_loop(diver):
    """Exhaled air in the loop: what an open valve left and the first breath brought."""
    loop = diver.setting.loop
    held = loop.model.held(loop.volume, diver.bar) if loop else 1.0
    diver.y[ALL], diver.y[O2], diver.y[HE] = held, EXHALED * held, 0.0


def set_up(plan, dive, model, richest=False):
    mixes = {c.name: ((c.richest if richest else c.leanest) / 100.0, c.he / 100.0) for c in plan.cylinders}
    per_m = LINE[plan.line] if plan.line else BAR_PER_M
    feeding = {"semi-closed": "supply", "passive": "supply", "closed": "diluent", "open": "back"}[plan.unit.kind]
    inflates = None if plan.inflates == "none" else dive.takes.get(plan.inflates or feeding)
    names = [cylinder.name for cylinder in plan.cylinders]
    return Setting(iso_surface(plan.altitude), per_m, make_loop(plan, dive, model), names, mixes, dive.takes, inflates)


def flush(diver, volumes):
    """Pours so many loop volumes of fresh gas through the loop, at once: what comes in pushes out what is mixed."""
    loop, name = diver.setting.loop, diver.setting.feeds.get("diluent", diver.setting.feeds.get("supply"))
    o2, he = diver.setting.mixes[name]
    held = loop.model.held(loop.volume, diver.bar)
    poured = solve_ivp(lambda _, y: [o2 - y[0] / held, he - y[1] / held], (0.0, volumes * held), diver.y[[O2, HE]],
                       method="DOP853", rtol=1e-10, atol=1e-12)
    diver.y[O2], diver.y[HE] = poured.y[:, -1]
    diver.draw(name, volumes * held)


def home(plan, dive, diver, leg):
    share = lambda percent: None if percent is None else percent / 100.0
    gases = [dive.takes["deco"], *dive.more_deco] if "deco" in dive.takes else []
    rate, how = leg.extra or RATE_UP, work(plan, leg.work or HOME)
    return WayUp(share(plan.low), share(plan.high), plan.shallowest, rate, how, gases)


def gas_lasts(plan, full, diver, minutes, how):
    """Whether no cylinder runs out on a stay: time without stops that nobody has the gas for is not compared."""
    later = diver.copy()
    travel(later, later.depth, minutes, how)
    used = dict(zip(later.setting.cylinders, later.y[DRAWS:]))
    return all(used[cylinder.name] < full[cylinder.name] - 30.0 * cylinder.size for cylinder in plan.cylinders)


def take(plan, dive, diver, leg):
    """One leg that is not the way home."""
    how = work(plan, leg.work or UNSAID)
    if leg.word in ("descend", "ascend"):
        rate = leg.extra or (RATE_DOWN if leg.word == "descend" else RATE_UP)
        return travel(diver, leg.value, abs(leg.value - diver.depth) / rate, how)
    if leg.word == "travel":
        return travel(diver, leg.value, leg.extra, how)
    if leg.word == "stay":
        return travel(diver, diver.depth, leg.value, how)
    if leg.word == "stop":
        way = travel(diver, leg.value, abs(leg.value - diver.depth) / RATE_UP, how)
        return way + travel(diver, leg.value, leg.extra, how)
    if leg.word == "off-loop":
        # The loop keeps its mix meanwhile.
        diver.source = dive.takes["bailout"]
        return travel(diver, diver.depth, leg.extra, how)
    if leg.word == "on-loop":
        diver.source = "loop"
        return []
    if leg.word == "set-point":
        if plan.unit.kind == "closed":
            diver.setting.loop.set_point = leg.value
        else:
            diver.setting.loop.set_point, diver.setting.loop.in_bar = written(leg.value)
    elif leg.word == "flush":
        flush(diver, leg.extra or 1.0)
    elif leg.word == "bail-out":
        diver.source = dive.takes["bailout"]
    elif leg.word == "switch":
        diver.source = dive.takes[leg.value]
    else:
        raise ValueError(leg.word)
    return []


def stay_of(plan, dive, diver, leg, full):
    """How long a stay might be: from its beginning, going straight up as the plan means to go home."""
    how = work(plan, leg.work or UNSAID)
    may = home(plan, dive, diver, dive.legs[-1]).no_stop(diver, how)
    if may and not gas_lasts(plan, full, diver, may, how):
        may = None
    return Stay(diver.t, leg.value, may)


def at_the_surface(plan, dive, setting, diver):
    """A diver before a dive: the first of the day, or after an interval. Returns the pieces of breathing beforehand."""
    if diver is None:
        diver = begin(plan, dive, setting)
    else:
        rest_at_surface(diver, plan.interval)
        diver.setting, diver.source = setting, "loop" if setting.loop else dive.takes["back"]
        fresh_loop(diver)
    pieces = []
    diver.t, diver.depth = 0.0, 0.0
    if setting.loop:
        minutes = PRE_BREATHE if plan.unit.pre_breathe is None else plan.unit.pre_breathe
        diver.t = -minutes
        pieces = travel(diver, 0.0, minutes, work(plan, "rest"))
        diver.t = 0.0
    if setting.inflates:
        diver.draw(setting.inflates, WING_DEEP_L * setting.surface)
    return diver, pieces


def run(plan, model=Model(), no_stop=False):
    """The tracks of a plan's dives."""
    tracks, diver, rich, full = [], None, None, contents(plan)
    for dive in plan.dives:
        diver, pieces = at_the_surface(plan, dive, set_up(plan, dive, model), diver)
        rich, rich_pieces = (at_the_surface(plan, dive, set_up(plan, dive, model, True), rich) if plan.apart else (None, []))
        stops, stays = [], []
        for leg in dive.legs:
            if leg.word == "ascend" and leg.value is None:
                stops, more, diver = home(plan, dive, diver, leg).home(diver)
                pieces += more
                for piece in more if rich else []:
                    rich.source = piece.source
                    rich_pieces += travel(rich, piece.depth, piece.minutes, work(plan, leg.work or HOME))
                continue
            if leg.word == "stay" and no_stop and plan.high is not None:
                stays.append(stay_of(plan, dive, diver, leg, full))
            pieces += take(plan, dive, diver, leg)
            if rich:
                rich_pieces += take(plan, dive, rich, leg)
        tracks.append(Track(dive.name, diver.setting, pieces, stops, diver.copy(), stays, rich_pieces or pieces))
        if diver.setting.inflates:
            diver.draw(diver.setting.inflates, WING_UP_L * diver.setting.surface)
    return tracks


def contents(plan):
    """Free litres in each cylinder as filled."""
    surface = iso_surface(plan.altitude)
    return {
        c.name: cylinders.free_litres(c.size, c.o2 / 100.0, c.he / 100.0, c.pressure, surface, c.celsius)
        for c in plan.cylinders
    }
