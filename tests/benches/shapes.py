"""Archives of one shape each, as files by their paths, for `growth` and `beside`: invented, and the same on every machine."""

HOUSE = "limits {\n    reserve 50\n    depth 36\n}\n"


def diver(name):
    return f"""diver "{name}" {{
    trained kind=open depth=39 deco=10 on="2020-06-11"
    gas rest=16 peak=60
    oxygen rest=0.7 light=1.0 moderate=1.5 heavy=2.2 peak=3.0
}}
"""


def cylinder(name, bar=210):
    return f"""cylinder "{name}" size=24 working=232 {{
    fill {bar} on="2027-05-01" by="Ines" o2=32 analysed=32
    test due="2029-03-01"
}}
"""


def plan(name, on, divers, uses=(), at="09:00", own="", status="ready", depth=18, stay=15, more=""):
    """A plan of one dive. `divers` are pairs of a diver and a cylinder."""
    used = "".join(f'use "{path}"\n' for path in uses)
    team = "".join(f'        diver "{who}" back="{what}"\n' for who, what in divers)
    begins = f' at="{at}"' if at else ""
    return f"""{used}
plan "{name}" on="{on}" status={status} {{
    site "Greyfen quarry" water=fresh altitude=210 temperature=9 {{
        depth 38
    }}
    limits {{
        gradient low=45 high=80
    }}
    dive "one"{begins} {{
        descend {depth} rate=15
        stay {stay} work=light
        ascend
{team}    }}
{more}}}
{own}"""


def day(number):
    month, of_month = divmod(number, 28)
    year, month = divmod(month, 12)
    return f"{2027 + year}-{month + 1:02}-{of_month + 1:02}"


def clock(minutes):
    return f"{minutes // 60 % 24:02}:{minutes % 60:02}"


def crowded_day(n):
    """Plans of one day, each with a diver and a cylinder of its own."""
    return {f"{i}.plan.kdl": plan(f"plan {i}", "2027-05-15", [(f"D{i}", f"C{i}")], depth=12 + i % 12, stay=10 + i % 17,
            own=diver(f"D{i}") + cylinder(f"C{i}", 190 + i % 30)) for i in range(n)}


def crowded_from(n):
    """The same from a template that has the legs."""
    template = """plan "shape" status=template {
    site "Greyfen quarry" water=fresh altitude=210 temperature=9 {
        depth 38
    }
    dive "one" {
        descend 18
        stay 15 work=light
        ascend
    }
}
"""
    files = {"t.plan.kdl": template}
    for i in range(n):
        files[f"{i}.plan.kdl"] = (
            f'plan "plan {i}" on="2027-05-15" status=ready from="t.plan.kdl" {{\n    limits {{\n        gradient low=45 high=80\n'
            f'    }}\n    dive "one" at="09:00" {{\n        diver "D{i}" back="C{i}"\n    }}\n}}\n'
            + diver(f"D{i}") + cylinder(f"C{i}", 190 + i % 30))
    return files


KIT = {"club.kit.kdl": diver("Rowan") + diver("Ines") + cylinder("C1") + cylinder("C2")}
PAIR = [("Rowan", "C1"), ("Ines", "C2")]


def copies(n):
    """Copies of one plan."""
    return KIT | {f"{i}.plan.kdl": plan("the plan", "2027-05-15", PAIR, ["club.kit.kdl"]) for i in range(n)}


def copies_unsaid(n):
    """Copies of one plan that says no time of day."""
    return KIT | {f"{i}.plan.kdl": plan("the plan", "2027-05-15", PAIR, ["club.kit.kdl"], at=None) for i in range(n)}


def shared_kit(n):
    """Plans of one day whose divers differ and take the same cylinders."""
    kit = {"club.kit.kdl": cylinder("C1") + cylinder("C2")}
    return kit | {f"{i}.plan.kdl": plan(f"plan {i}", "2027-05-15", [(f"D{i}", "C1"), (f"E{i}", "C2")], ["club.kit.kdl"],
                  own=diver(f"D{i}") + diver(f"E{i}")) for i in range(n)}


def overlapping(n):
    """Plans of one diver that overlap, a minute apart."""
    return KIT | {f"{i}.plan.kdl": plan(f"plan {i}", "2027-05-15", PAIR, ["club.kit.kdl"], at=clock(300 + i % 1000))
                  for i in range(n)}


def trip(n):
    """Plans of one pair, four a day, on days in a row."""
    return KIT | {f"{i}.plan.kdl": plan(f"plan {i}", day(i // 4), PAIR, ["club.kit.kdl"], at=clock(480 + 150 * (i % 4)),
                  depth=12 + i % 5, stay=10 + i % 7) for i in range(n)}


def practice(n):
    """As many plans to be dived on a unit as there are dives of the diver on open circuit."""
    unit = """unit "fen" kind=semi-closed {
    loop 5
    feed constant=11 controlled=13
    floor o2=22
    needs o2=34
    mouthpiece open-circuit=bailout
}
"""
    files = {"club.kit.kdl": unit + KIT["club.kit.kdl"]}
    for i in range(n):
        files[f"was-{i}.plan.kdl"] = plan(f"was {i}", day(i), [("Rowan", "C1")], ["club.kit.kdl"], status="dived")
        files[f"will-{i}.plan.kdl"] = plan(f"will {i}", day(n + 40 * i % 4000), [("Rowan", "C2")], ["club.kit.kdl"]).replace(
            'back="C2"', 'unit="fen" supply="C2" bailout="C1"')
    return files


def mistyped_uses(n):
    """Plans that each use a file that is not there."""
    return KIT | {f"{i}.plan.kdl": plan(f"plan {i}", day(i), PAIR, ["clib.kit.kdl"]) for i in range(n)}


def mistyped_uses_in_one(n):
    """One plan that uses as many files that are not there, beside as many that are."""
    files = {f"kit/{i}.kit.kdl": diver(f"D{i}") for i in range(n)}
    return files | {"one.plan.kdl": plan("one", "2027-05-15", PAIR, [f"kot/{i}.kit.kdl" for i in range(n)])}


def mistyped_names(n):
    """One plan that takes as many cylinders under mistyped names as there are cylinders."""
    more = "".join(f'            cylinder "K{i:05}" role=deco\n' for i in range(n))
    text = plan("one", "2027-05-15", PAIR, ["club.kit.kdl", "more.kit.kdl"])
    return KIT | {"more.kit.kdl": "".join(cylinder(f"C{i:05}") for i in range(n)),
                  "one.plan.kdl": text.replace('back="C1"', 'back="C1" {\n' + more + "        }")}


def mistyped_names_in_many(n):
    """Plans that each take a cylinder under a mistyped name, beside as many cylinders."""
    kit = {"club.kit.kdl": KIT["club.kit.kdl"] + "".join(cylinder(f"C{i:05}") for i in range(n))}
    return kit | {f"{i}.plan.kdl": plan(f"plan {i}", day(i), [("Rowan", f"K{i:05}")], ["club.kit.kdl"]) for i in range(n)}


def chain(n):
    """Kit files that each use the next, and a plan that uses the first."""
    files = {f"{i}.kit.kdl": f'use "{i + 1}.kit.kdl"\n' + diver(f"D{i}") for i in range(n)}
    files[f"{n}.kit.kdl"] = KIT["club.kit.kdl"]
    return files | {"one.plan.kdl": plan("one", "2027-05-15", PAIR, ["0.kit.kdl"])}


def large_kit(n):
    """As many plans as the kit that they use has cylinders."""
    kit = KIT["club.kit.kdl"] + "".join(cylinder(f"S{i}") for i in range(n))
    return {"club.kit.kdl": kit} | {f"{i}.plan.kdl": plan(f"plan {i}", day(i), [("Rowan", f"S{i}")], ["club.kit.kdl"])
                                    for i in range(n)}


def doubled_kit(n):
    """The same, with every cylinder in two files."""
    kit = "".join(cylinder(f"S{i}") for i in range(n))
    files = {"club.kit.kdl": KIT["club.kit.kdl"] + kit, "more.kit.kdl": kit}
    return files | {f"{i}.plan.kdl": plan(f"plan {i}", day(i), [("Rowan", f"S{i}")], ["club.kit.kdl", "more.kit.kdl"])
                    for i in range(n)}


def allows(n):
    """One plan with as many waivers."""
    more = "".join(f'    allow "oxygen-clock" reason="one of many, {i}"\n' for i in range(n))
    return KIT | {"one.plan.kdl": plan("one", "2027-05-15", PAIR, ["club.kit.kdl"], more=more)}


def dives(n):
    """One plan with as many dives."""
    more = "".join(f'    interval 300\n    dive "dive {i}" {{\n        descend {10 + i % 9}\n        stay {5 + i % 11} work=light\n'
                   '        ascend\n        diver "Rowan" back="C1"\n    }\n' for i in range(n))
    return KIT | {"one.plan.kdl": plan("one", "2027-05-15", PAIR, ["club.kit.kdl"], more=more)}


def legs(n):
    """One dive that goes up and down as often."""
    text = plan("one", "2027-05-15", [("Rowan", "C1")], ["club.kit.kdl"])
    more = "".join("        ascend 6\n        descend 8\n" for i in range(n))
    return KIT | {"one.plan.kdl": text.replace("        ascend\n", more + "        ascend\n")}


def team(n):
    """One dive with as many divers, each with a cylinder of their own."""
    kit = "".join(diver(f"D{i}") + cylinder(f"S{i}") for i in range(n))
    return {"club.kit.kdl": kit,
            "one.plan.kdl": plan("one", "2027-05-15", [(f"D{i}", f"S{i}") for i in range(n)], ["club.kit.kdl"])}


def accepted(n):
    """Plans with a finding each, every one of which is accepted before the clock runs."""
    return distinct(n)


def distinct(n, status="ready"):
    """Plans of one dive of one diver each, every one of them different, with the kit that it takes in its own file."""
    files = {}
    for i in range(n):
        on, depth, stay = day(i // 3), 14 + i % 13 + i % 7 / 10, 12 + i % 11
        dived = f'\n        dived "D{i}" minutes={stay + 9} depth={depth} {{ cylinder "S{i}" from=205 to={110 + i % 40}; }}' if status == "dived" else ""
        files[f"{i // 1000}/{i}.plan.kdl"] = f"""plan "Greyfen quarry {i}" on="{on}" status={status} {{
    site "Greyfen quarry" water=fresh altitude={150 + i % 97} temperature={8 + i % 5} {{
        depth 38
        emergency chamber="County chamber" phone="000 555 0142" {{
            oxygen size=10 pressure=200 count=2
            evacuation 45
        }}
    }}
    limits {{
        gradient low={40 + i % 9} high={75 + i % 11}
        overrun depth=2 time=4
    }}
    dive "one" at="{clock(500 + i % 600)}" {{
        descend {depth} rate=15
        stay {stay} work=light              // along the wall and back
        ascend 9 rate=9
        stay {3 + i % 4} work=moderate
        ascend
        diver "D{i}" unit="fen {i}" supply="S{i}" bailout="B{i}" set-point=26{dived}
    }}
}}
unit "fen {i}" kind=semi-closed serial="A-{i:05}" {{
    loop 5
    feed constant=11 controlled=13
    make-up yes
    floor o2=22
    needs o2=34
    reach depth=36 deco=15 coldest=6
    mouthpiece open-circuit=bailout
    bed "c {i}"
    cell "a" fitted="{on}" life=(months)18 {{ reading on="{on}" air=10.{i % 4} oxygen=49.{i % 6}; }}
    cell "b" fitted="{on}" life=(months)18 {{ reading on="{on}" air=10.{i % 3} oxygen=49.{i % 5}; }}
    battery "controller" least=50 {{ charge {80 + i % 19} on="{on}"; }}
    service due="2090-01-31"
    calibrated on="{on}"
    flow 11.{i % 3} on="{on}"
}}
canister "c {i}" absorbent=2.6 {{
    rated minutes=200 co2=1.6 temperature=4
    packed on="{on}"
}}
cylinder "S{i}" size=12 working=232 {{
    fill {200 + i % 13} on="{on}" by="Ines" o2=35 analysed=34.{5 + i % 5}
    test due="2090-03-01"
}}
cylinder "B{i}" size=7 working=232 {{
    fill {215 + i % 11} on="{on}" by="Ines" o2=32 analysed=31.{8 + i % 2}
    test due="2090-03-01"
}}
diver "D{i}" {{
    trained kind=semi-closed depth=34 deco=12 on="2025-08-02"
    trained kind=open depth=39 deco=10 on="2022-06-11"
    gas rest={14 + i % 5} peak={52 + i % 9}
    oxygen rest=0.7 light=1.{i % 3} moderate=1.5 heavy=2.2 peak=3.0
    fit until="2090-12-31"
    lives altitude={30 + i % 50}
}}
"""
    return files


SHAPES = {distinct: 250, accepted: 250, crowded_day: 250, crowded_from: 250, copies: 100, copies_unsaid: 100, shared_kit: 100, overlapping: 100,
          trip: 250, practice: 250, mistyped_uses: 250, mistyped_uses_in_one: 250, mistyped_names: 250,
          mistyped_names_in_many: 250, chain: 250, large_kit: 250, doubled_kit: 100, allows: 250, dives: 50, legs: 50,
          team: 50}
