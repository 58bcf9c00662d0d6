#!/usr/bin/env python3
"""Invents dive plans, dives each one here by integrating it (dives/), and holds the engine to the figures.

    random_plans.py --leadsman PATH [--count 300] [--seed 1] [--keep FOLDER] [--dry-cold-loop]
        runs the binary's `track --format json` on each plan, prints the worst difference of each quantity on each
        apparatus, and ends with 1 where one is over its tolerance: the plan is named, and kept in FOLDER.

    random_plans.py --write ../random_plans.json [--count 60]
        writes plans and this simulator's own figures, none of the engine's, for `cargo test` to read without Python.

The loop's gas is wet and warm; `--dry-cold-loop` takes it dry and at 20 °C, as engines before that did. Same seed, same
plans: but a plan that can't be dived is thrown away, which the two kinds of loop may see differently.

Needs NumPy, SciPy and CoolProp (written with 2.4.6, 1.17.1 and 8.0.0).
"""

import argparse
import json
import sys
import tempfile
from pathlib import Path

from dives import beside, invent
from dives.world import Model

QUANTITIES = tuple(beside.MOST)


def hold(args, model):
    worst, failed, looked, counts = {}, [], 0, {}
    folder = Path(args.keep or tempfile.mkdtemp(prefix="random-plans-"))
    folder.mkdir(parents=True, exist_ok=True)
    for plan, tracks in invent.plans(args.seed, args.count, model, no_stop=True):
        path = folder / f"{plan.name.replace(' ', '-')}.plan.kdl"
        path.write_text(plan.kdl())
        page, trouble = beside.engine(args.leadsman, path)
        kind = plan.unit.kind
        counts[kind] = counts.get(kind, 0) + 1
        if trouble:
            failed.append(f"{path.name}: {trouble}")
            continue
        found = beside.compare(plan, tracks, page)
        looked += found.looked
        for quantity, (difference, where) in found.worst.items():
            if difference > worst.get((kind, quantity), (-1.0, ""))[0]:
                worst[kind, quantity] = (difference, f"{plan.name}, {where}")
        if found.excesses:
            failed.append(f"{path.name}: {len(found.excesses)} over, first {found.excesses[0]}")
        elif not args.keep:
            path.unlink()
    print(f"{sum(counts.values())} plans, {looked} figures; worst differences")
    print("apparatus    plans  " + "".join(f"{quantity:>13}" for quantity in QUANTITIES))
    for kind in invent.KINDS:
        row = [worst.get((kind, quantity)) for quantity in QUANTITIES]
        shown = "".join(f"{'-' if cell is None else f'{cell[0]:.2g}':>13}" for cell in row)
        print(f"{kind:<12} {counts.get(kind, 0):>5}  {shown}")
    print("most                " + "".join(f"{beside.MOST[quantity]:>13}" for quantity in QUANTITIES))
    for line in failed:
        print(line)
    if failed:
        print(f"{len(failed)} plans differ; they are in {folder}")
    return 1 if failed else 0


def figures(track, first):
    """A handful of instants of a dive, on whole minutes, away from where anything changes at once; and its end."""
    whole = [t for t in range(int(track.end.t) + 1) if not track.jumps(float(t))]
    chosen = sorted({whole[len(whole) * share // 8] for share in (1, 3, 5, 7)})
    rows = []
    for t in chosen + [None]:
        at = track.figures(track.end.t if t is None else float(t))
        row = {"t_s": None if t is None else 60 * t}
        row |= {"cns_percent": round(at["cns_percent"], 5), "uptd": round(at["uptd"], 4)}
        if at["o2_percent"] is not None:
            row["o2_percent"] = round(at["o2_percent"], 5)
        if at["no_stop_min"] is not None:
            row["no_stop_min"] = round(at["no_stop_min"], 3)
        taken = [name for name in track.setting.feeds.values()]
        given = {name: round(at["used_l"][name] - first[name], 2) for name in sorted(taken)}
        row["given_l"] = {name: litres for name, litres in given.items() if litres}
        rows.append(row)
    return rows


def write(args, model):
    plans = []
    for plan, tracks in invent.plans(args.seed, args.count, model, no_stop=True):
        first, dives = {}, []
        for track in tracks:
            at = track.figures(track.starts)
            for name in track.setting.feeds.values():
                first.setdefault(name, at["used_l"][name])
            dives.append({
                "dive": track.dive, "end_s": round(60.0 * track.end.t, 3),
                "stops": [[depth, minutes] for _, depth, minutes in track.stops], "at": figures(track, first),
            })
        about = {"plan": plan.name, "apparatus": plan.unit.kind, "apart": plan.apart}
        plans.append(about | {"dives": dives, "text": plan.kdl()})
    head = {
        "about": "Written by scripts/random_plans.py: invented plans, and what integrating them by SciPy finds; nothing "
                 "in here is the engine's. Times in seconds from leaving the surface, the end of the dive where null; "
                 "stops as [metres, minutes]; given_l is what a cylinder gave since the first sample it stands in, free "
                 "litres; apart: an analysis differs from what was ordered.",
        "seed": args.seed,
    }
    # A plan a line: what changes is seen.
    lines = ",\n".join(json.dumps(one, ensure_ascii=False, separators=(",", ":")) for one in plans)
    opening = json.dumps(head, ensure_ascii=False)[:-1]
    Path(args.write).write_text(f'{opening}, "plans": [\n{lines}\n]}}\n', encoding="utf-8")
    print(f"{len(plans)} plans, {Path(args.write).stat().st_size} bytes")
    return 0


def main():
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("--leadsman", metavar="PATH", help="the built binary")
    options.add_argument("--write", metavar="FILE", help="write plans and figures")
    options.add_argument("--count", type=int, help="how many plans (300; 60 to write)")
    options.add_argument("--seed", type=int, default=1)
    options.add_argument("--keep", metavar="FOLDER", help="where plans are written, and kept")
    options.add_argument("--dry-cold-loop", action="store_true", help="gas in the loop dry and at 20 °C")
    args = options.parse_args()
    model = Model(args.dry_cold_loop)
    if args.write:
        args.count = args.count or 60
        return write(args, model)
    if not args.leadsman:
        options.error("--leadsman or --write")
    args.count = args.count or 300
    return hold(args, model)


if __name__ == "__main__":
    sys.exit(main())
