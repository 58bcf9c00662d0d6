"""Plausible plans from a seed: what a club might dive on each kind of apparatus. Whether a plan can be dived at all is
looked at by diving it here; what can't is thrown away and another one is made."""

import random

import numpy as np

from . import dive as dives
from .integrate import ALL, O2
from .plan import LEVELS, Cylinder, Dive, Leg, Plan, Unit
from .world import Model

KINDS = ("open", "semi-closed", "passive", "closed")
WORK = (None, "rest", "light", "light", "moderate", "heavy")
INFINITE = float("inf")


class Unfit(Exception):
    """The plan can't be dived."""


def bar_at(plan, depth):
    return dives.iso_surface(plan.altitude) + 0.1 * depth


class Maker:
    def __init__(self, seed, kind):
        self.r, self.kind = random.Random(f"{seed} {kind}"), kind

    def between(self, low, high, digits=0):
        """Even, and of so few digits that a plan's text says it exactly."""
        return round(self.r.uniform(low, high), digits) if digits else float(round(self.r.uniform(low, high)))

    def chance(self, share):
        return self.r.random() < share

    def plan(self, name):
        r = self.r
        plan = Plan(name, [], None, [])
        plan.altitude = r.choice([0.0, 0.0, 0.0, 210.0, self.between(320, 2600)])
        if plan.altitude > 300.0:
            plan.lives = r.choice([0.0, 0.0, 40.0, plan.altitude])
        plan.celsius = self.between(4, 27)
        plan.line = r.choice([None, None, None, None, "fresh", "salt"])
        if self.chance(0.95):
            plan.low = self.between(30, 95)
            plan.high = max(plan.low, self.between(60, 98))
        if self.chance(0.2):
            plan.shallowest = r.choice([5.0, 6.0, 4.5])
        plan.inflates = "none" if self.chance(0.4) else None
        rest = self.between(0.5, 0.9, 2)
        more = [0.0] + [self.between(*by, 2) for by in ((0.2, 0.4), (0.6, 0.9), (1.1, 1.6), (1.8, 2.4))]
        plan.oxygen = {level: round(rest + by, 2) for level, by in zip(LEVELS, more)}
        plan.gas = (self.between(12, 20), self.between(45, 75))
        getattr(self, "make_" + self.kind.replace("-", "_"))(plan)
        if len(plan.dives) > 1:
            plan.interval = self.between(30, 240)
        return plan

    def legs(self, plan, deepest, longest, closed=None):
        """Down, about, and home."""
        depth = self.between(0.6 * deepest, deepest)
        legs = [Leg("descend", depth, self.r.choice([None, 10.0, 18.0, 20.0]), self.r.choice(WORK))]
        if closed:
            legs.append(Leg("set-point", closed))
        legs.append(Leg("stay", self.between(0.2 * longest, longest), None, self.r.choice(WORK)))
        for _ in range(self.r.choice([0, 0, 1, 1, 2, 3])):
            to = self.between(min(9.0, depth - 2.0), deepest)
            if abs(to - depth) < 1.0:
                continue
            if self.chance(0.25):
                legs.append(Leg("travel", to, self.between(abs(to - depth) / 9.0 + 1.0, 12.0), self.r.choice(WORK)))
            elif to > depth:
                legs.append(Leg("descend", to, None, self.r.choice(WORK)))
            else:
                legs.append(Leg("ascend", to, self.r.choice([None, 6.0]), self.r.choice(WORK)))
            depth = to
            legs.append(Leg("stay", self.between(1, 0.5 * longest), None, self.r.choice(WORK)))
        return legs, depth

    def finish(self, legs):
        rate, work = self.r.choice([None, None, 6.0, 10.0]), self.r.choice([None, None, "rest", "moderate"])
        legs.append(Leg("ascend", None, rate, work))

    def analysed(self, o2):
        """What an analyser says: mostly what was ordered."""
        return round(o2 + self.between(-0.8, 0.8, 1), 1) if self.chance(0.25) else None

    def dive_count(self):
        return 2 if self.chance(0.5) else 1

    def drill(self, legs):
        """Off the loop for a while on the first stay, and back."""
        if self.chance(0.15):
            at = next(at for at, leg in enumerate(legs) if leg.word == "stay") + 1
            legs[at:at] = [Leg("off-loop", None, self.between(1, 4)), Leg("on-loop"), Leg("stay", self.between(2, 8))]

    def bail_out(self, legs, takes):
        if "bailout" in takes and self.chance(0.15):
            legs.append(Leg("bail-out"))

    def own_stop(self, legs, depth):
        """A stop that the writer insists on."""
        if depth > 12.0 and self.chance(0.15):
            work = self.r.choice([None, "light", "rest"])
            legs.append(Leg("stop", self.between(5, depth - 5.0), self.between(1, 4), work))

    def make_open(self, plan):
        plan.unit = Unit("open")
        helium = self.chance(0.35)
        o2 = self.between(17, 25) if helium else self.r.choice([21.0, 21.0, self.between(25, 38)])
        he = self.between(20, 50) if helium else 0.0
        plan.cylinders.append(Cylinder("D12-1", 24.0, self.between(190, 230), o2, he,
                                       analysed=None if helium else self.analysed(o2)))
        takes = {"back": "D12-1"}
        if self.chance(0.6):
            takes["deco"] = "S7-1"
            o2_deco = self.r.choice([50.0, 50.0, 80.0, 100.0])
            plan.cylinders.append(Cylinder("S7-1", 7.0, self.between(180, 220), o2_deco))
        more = ()
        if "deco" in takes and plan.cylinders[1].o2 < 90.0 and self.chance(0.3):
            plan.cylinders.append(Cylinder("S7-4", 7.0, self.between(180, 220), 100.0))
            more = ("S7-4",)
        deepest = min((1.35 / (o2 / 100.0) - bar_at(plan, 0.0)) * 10.0, 60.0 if helium else 45.0)
        for at in range(self.dive_count()):
            legs, depth = self.legs(plan, deepest * (1.0 - 0.3 * at), 25.0)
            self.own_stop(legs, depth)
            if "deco" in takes and self.chance(0.2):
                # Taken early, as far down as 1.55 bar allow.
                window = (1.55 / (plan.cylinders[1].o2 / 100.0) - bar_at(plan, 0.0)) * 10.0
                if 4.0 < window < depth - 1.0:
                    legs += [Leg("ascend", float(int(window))), Leg("switch", "deco"), Leg("stay", self.between(1, 4))]
            self.finish(legs)
            plan.dives.append(Dive(("morning", "afternoon")[at], legs, takes, more_deco=more))

    def own_gas(self, plan, takes):
        plan.cylinders.append(Cylinder("S7-2", 7.0, self.between(180, 220), 32.0))
        takes["bailout"] = "S7-2"
        if self.chance(0.3):
            plan.cylinders.append(Cylinder("S7-3", 7.0, self.between(180, 220), self.r.choice([50.0, 80.0])))
            takes["deco"] = "S7-3"

    def make_semi_closed(self, plan):
        unit = plan.unit = Unit("semi-closed", loop=self.between(4, 8, 1))
        unit.measured = self.chance(0.8)
        set_point = None
        if self.chance(0.65):
            unit.constant = self.r.choice([0.0, self.between(4, 8, 1)])
            unit.controlled = self.between(12, 25, 1)
            set_point = self.between(23, 30, 1)
            o2 = self.between(set_point + 6, 42)
        else:
            unit.constant = self.between(8, 16, 1)
            o2 = self.between(36, 55)
        he = self.between(10, 30) if self.chance(0.15) else 0.0
        unit.make_up = self.r.choice([INFINITE, INFINITE, INFINITE, self.between(3, 10, 1), None])
        if self.chance(0.2):
            unit.pre_breathe = self.between(2, 8)
        takes = {"supply": "S12-1"}
        plan.cylinders.append(Cylinder("S12-1", self.r.choice([10.0, 12.0]), self.between(180, 230), o2, he,
                                       analysed=self.analysed(o2)))
        if self.chance(0.3):
            plan.cylinders[0].celsius = self.between(12, 30)
        self.own_gas(plan, takes)
        deepest = min((1.35 / (o2 / 100.0) - bar_at(plan, 0.0)) * 10.0, 40.0)
        for at in range(self.dive_count()):
            legs, depth = self.legs(plan, deepest * (1.0 - 0.3 * at), 30.0)
            self.drill(legs)
            if set_point and self.chance(0.2):
                legs.insert(2, Leg("set-point", self.between(set_point - 1, set_point + 3, 1)))
                legs.insert(3, Leg("stay", self.between(3, 10)))
            if self.chance(0.2):
                legs.insert(2, Leg("flush", None, self.between(1, 3, 1)))
                legs.insert(3, Leg("stay", self.between(2, 10)))
            self.own_stop(legs, depth)
            self.bail_out(legs, takes)
            self.finish(legs)
            asked = set_point
            if set_point and self.chance(0.3):
                # What the share is at some depth, so that the supply reaches it there and not higher up.
                asked = round(set_point / 100.0 * bar_at(plan, depth * self.r.uniform(0.6, 1.0)), 2)
            plan.dives.append(Dive(("morning", "afternoon")[at], legs, takes, asked))

    def make_passive(self, plan):
        plan.unit = Unit("passive", loop=self.between(4, 8, 1), ratio=self.between(4, 11), compensated=self.chance(0.25))
        o2 = self.between(36, 55)
        he = self.between(10, 30) if self.chance(0.2) else 0.0
        takes = {"supply": "S12-1"}
        plan.cylinders.append(Cylinder("S12-1", 12.0, self.between(180, 230), o2, he))
        self.own_gas(plan, takes)
        deepest = min((1.35 / (o2 / 100.0) - bar_at(plan, 0.0)) * 10.0, 40.0)
        for at in range(self.dive_count()):
            legs, depth = self.legs(plan, deepest * (1.0 - 0.3 * at), 35.0)
            self.drill(legs)
            self.own_stop(legs, depth)
            self.bail_out(legs, takes)
            self.finish(legs)
            plan.dives.append(Dive(("morning", "afternoon")[at], legs, takes))

    def make_closed(self, plan):
        plan.unit = Unit("closed", loop=self.between(4, 8, 1), inject=self.between(2, 10, 1))
        plan.unit.make_up = self.r.choice([INFINITE, INFINITE, INFINITE, self.between(20, 40)])
        helium = self.chance(0.4)
        o2 = self.between(14, 20) if helium else 21.0
        he = self.between(20, 55) if helium else 0.0
        takes = {"diluent": "S3-1", "oxygen": "S3-2"}
        plan.cylinders.append(Cylinder("S3-1", self.r.choice([3.0, 7.0]), self.between(180, 220), o2, he))
        plan.cylinders.append(Cylinder("S3-2", 3.0, self.between(160, 200), 100.0))
        self.own_gas(plan, takes)
        if "deco" in takes and self.chance(0.5):
            takes.pop("deco")
        deepest = 60.0 if helium else 38.0
        for at in range(self.dive_count()):
            # Below what the shallowest stop allows: how a controller behaves on a loop of nearly all oxygen is its own.
            most = min(1.35, 0.92 * bar_at(plan, plan.shallowest))
            high = self.between(0.8 * most, most, 2)
            legs, depth = self.legs(plan, deepest * (1.0 - 0.3 * at), 30.0, high)
            self.drill(legs)
            self.own_stop(legs, depth)
            if self.chance(0.2):
                legs.append(Leg("set-point", self.between(0.7, high, 2)))
            self.bail_out(legs, takes)
            self.finish(legs)
            plan.dives.append(Dive(("morning", "afternoon")[at], legs, takes, 0.7))


def fit(plan, tracks):
    """Raises where nobody could dive the plan: what happens then is not what this is about."""
    full = dives.contents(plan)
    for track in tracks:
        if sum(minutes for _, _, minutes in track.stops) > 75.0 or track.end.t > 240.0:
            raise Unfit("too long")
        loop = track.setting.loop
        for t in np.linspace(0.0, track.end.t, 200):
            depth, y, piece = track.at(float(t))
            bar = track.setting.bar(depth)
            breathed = y[O2] / y[ALL] if piece.source == "loop" else track.setting.mixes[piece.source][0]
            if not 0.165 < breathed * bar < 1.68:
                raise Unfit("can't be breathed")
            if loop and piece.source == "loop" and y[ALL] < loop.model.held(loop.volume - 1.2, bar):
                raise Unfit("short of gas")
        used = track.figures(track.end.t)["used_l"]
        for cylinder in plan.cylinders:
            if used[cylinder.name] > full[cylinder.name] - 30.0 * cylinder.size:
                raise Unfit("out of gas")


def plans(seed, count, model=Model(), no_stop=False):
    """`count` plans with their tracks, kind after kind."""
    makers = [Maker(seed, kind) for kind in KINDS]
    for number in range(count):
        maker = makers[number % len(makers)]
        while True:
            plan = maker.plan(f"{maker.kind} {number + 1}")
            try:
                tracks = dives.run(plan, model, no_stop)
                fit(plan, tracks)
            except (Unfit, ArithmeticError):
                continue
            yield plan, tracks
            break
