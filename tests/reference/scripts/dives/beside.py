"""The figures of the engine beside those of this simulator."""

import json
import subprocess
from dataclasses import dataclass, field

from . import dive as dives

#: The most by which two figures may differ. Oxygen in points of percent; the clock in percent of its limit, so points as
#: well; pulmonary units; gas given since the first sample of a cylinder, free litres; depth, metres; minutes without stops.
#: "Apart" are clocks of plans with a cylinder whose analysis is not what was ordered. Stops: 1 where a dive's differ in number, depth or minutes. Contents as filled, in percent of them, as there are two
#: equations of state (see cylinders.py): 0.35 for trimix, 0.2 for everything else.
MOST = {
    "oxygen": 0.01, "clock": 0.01, "units": 0.05, "clock apart": 0.01, "units apart": 0.05, "stops": 0, "no stop": 0.02,
    "gas": 3.0, "content": 0.35, "depth": 1e-4,
}
MOST_CONTENT_WITHOUT_HELIUM = 0.2


@dataclass
class Comparison:
    plan: str
    #: By quantity the worst difference, and where.
    worst: dict = field(default_factory=dict)
    excesses: list = field(default_factory=list)
    looked: int = 0

    def see(self, quantity, difference, most, where):
        self.looked += 1
        if difference > self.worst.get(quantity, (-1.0, ""))[0]:
            self.worst[quantity] = (difference, where)
        if not difference <= most:
            self.excesses.append(f"{quantity}: {where} by {difference:.4g}")


def engine(binary, path, every_s=60):
    ran = subprocess.run([binary, "track", str(path), "--format", "json", "--every", str(every_s)], capture_output=True,
                         text=True, timeout=120)
    if ran.returncode != 0:
        return None, f"ended with {ran.returncode}: {ran.stderr.strip()[:500]}"
    return json.loads(ran.stdout), None


def compare(plan, tracks, page):
    found = Comparison(plan.name)
    if len(page["dives"]) != len(tracks):
        found.excesses.append(f"{len(page['dives'])} dives for {len(tracks)}")
        return found
    full, first, apart = dives.contents(plan), {}, " apart" if plan.apart else ""
    for track, theirs in zip(tracks, page["dives"]):
        stops = [(stop["depth_m"], stop["minutes"]) for stop in theirs["stops"]]
        mine = [(depth, minutes) for _, depth, minutes in track.stops]
        same = len(stops) == len(mine) and all(
            abs(a - b) < 1e-6 and abs(m - n) < 1e-6 for (a, m), (b, n) in zip(stops, mine))
        found.see("stops", 0.0 if same else 1.0, 0.0, f"{track.dive}: {stops} for {mine}")
        end = theirs["samples"][-1]["t_s"] / 60.0
        if not same:
            # What comes after is another dive.
            end = min((stop["t_s"] / 60.0 for stop in theirs["stops"]), default=end)
            end = min([end] + [start for start, _, _ in track.stops])
        for sample in theirs["samples"]:
            t = sample["t_s"] / 60.0
            if t > end + 1e-6 or t < track.starts - 1e-6:
                continue
            at, where = track.figures(t), f"{track.dive}, {t:.2f} min"
            found.see("depth", abs(sample["depth_m"] - at["depth_m"]), MOST["depth"], where)
            found.see("clock" + apart, abs(sample["cns_percent"] - at["cns_percent"]), MOST["clock"], where)
            found.see("units" + apart, abs(sample["uptd"] - at["uptd"]), MOST["units"], where)
            if at["no_stop_min"] is not None:
                theirs_min = float("inf") if sample["no_stop_min"] is None else sample["no_stop_min"]
                found.see("no stop", abs(theirs_min - at["no_stop_min"]), MOST["no stop"], where)
            jumps = track.jumps(t)
            if at["o2_percent"] is not None and not jumps:
                found.see("oxygen", abs(sample["loop_o2_percent"] - at["o2_percent"]), MOST["oxygen"], where)
            for name, held in sample["cylinders"].items():
                if name not in first:
                    first[name] = (held["litres"], at["used_l"][name])
                    cylinder = next(c for c in plan.cylinders if c.name == name)
                    content = full[name] - at["used_l"][name]
                    percent = abs(held["litres"] / content - 1.0) * 100.0
                    most = MOST["content"] if cylinder.he else MOST_CONTENT_WITHOUT_HELIUM
                    found.see("content", percent, most, f"{where}: {name}")
                given = first[name][0] - held["litres"]
                if not jumps:
                    found.see("gas", abs(given - (at["used_l"][name] - first[name][1])), MOST["gas"], f"{where}: {name}")
    return found
