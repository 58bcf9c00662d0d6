"""A plan as numbers, and as the text that the engine reads."""

from dataclasses import dataclass, field

#: What a leg's second number is called.
EXTRA = {
    "descend": "rate", "ascend": "rate", "travel": "over", "flush": "volumes", "stop": "minutes", "off-loop": "minutes",
}
LEVELS = ("rest", "light", "moderate", "heavy", "peak")


def number(x):
    return f"{x:g}"


def words(*pairs):
    return "".join(f" {name}={value}" for name, value in pairs if value is not None)


@dataclass
class Cylinder:
    name: str
    size: float
    pressure: float
    o2: float  # percent, as all here that a plan says in percent
    he: float = 0.0
    celsius: float = 20.0
    analysed: float | None = None

    @property
    def leanest(self):
        """What a loop and tissues are reckoned by, where order and analysis differ."""
        return self.o2 if self.analysed is None else min(self.o2, self.analysed)

    @property
    def richest(self):
        """What clocks are reckoned by."""
        return self.o2 if self.analysed is None else max(self.o2, self.analysed)

    def kdl(self):
        helium = [("he", number(self.he))] if self.he else []
        warm = [("temperature", number(self.celsius))] if self.celsius != 20.0 else []
        analysed = [("analysed", number(self.o2 if self.analysed is None else self.analysed))]
        if self.he:
            analysed.append(("analysed-he", number(self.he)))
        fill = words(*warm, ("o2", number(self.o2)), *helium, *analysed)
        return f'cylinder "{self.name}" size={number(self.size)} working=300 {{\n' \
               f'    fill {number(self.pressure)} on="2027-05-14" by="Ines"{fill}\n}}\n'


@dataclass
class Unit:
    kind: str  # open, semi-closed, passive, closed
    loop: float = 6.0
    constant: float = 0.0
    controlled: float = 0.0
    #: Whether the constant feed was measured; else it may be a tenth off.
    measured: bool = True
    make_up: float | None = float("inf")
    ratio: float = 10.0
    compensated: bool = False
    inject: float = 0.0
    pre_breathe: float | None = None

    def kdl(self):
        inject = [("inject", number(self.inject))] if self.kind == "closed" else []
        lines = []
        if self.kind != "open":
            lines.append(f"loop {number(self.loop)}")
            lines.append("mouthpiece open-circuit=bailout")
        if self.kind == "semi-closed":
            flows = [("constant", number(self.constant) if self.constant else None),
                     ("controlled", number(self.controlled) if self.controlled else None)]
            lines.append("feed" + words(*flows))
            if self.constant and self.measured:
                lines.append(f'flow {number(self.constant)} on="2027-05-15"')
        if self.kind in ("semi-closed", "closed"):
            if self.make_up is None:
                lines.append("make-up no")
            elif self.make_up == float("inf"):
                lines.append("make-up yes")
            else:
                lines.append(f"make-up yes max={number(self.make_up)}")
        if self.kind == "passive":
            compensated = [("compensated", "yes")] if self.compensated else []
            lines.append("spill" + words(("ratio", number(self.ratio)), *compensated))
        if self.pre_breathe is not None:
            lines.append(f"pre-breathe {number(self.pre_breathe)}")
        body = "".join(f"    {line}\n" for line in lines)
        return f'unit "fen-3" kind={self.kind}{words(*inject)} {{\n{body}}}\n'


@dataclass
class Leg:
    """descend, stay, ascend, travel, stop, switch, set-point, flush, off-loop, on-loop, bail-out."""

    word: str
    value: float | str | None = None
    #: See EXTRA.
    extra: float | None = None
    work: str | None = None

    def kdl(self):
        value = None if self.value is None else self.value if isinstance(self.value, str) else number(self.value)
        extra = [(EXTRA[self.word], number(self.extra))] if self.extra is not None else []
        return self.word + ("" if value is None else f" {value}") + words(*extra, ("work", self.work))


@dataclass
class Dive:
    name: str
    legs: list
    #: Cylinders by role.
    takes: dict
    set_point: float | None = None
    #: More cylinders for stops.
    more_deco: tuple = ()


@dataclass
class Plan:
    name: str
    dives: list
    unit: Unit
    cylinders: list
    interval: float = 0.0
    altitude: float = 0.0
    celsius: float | None = None
    #: None for an instrument's depths, else the water a line was let down in.
    line: str | None = None
    low: float | None = None
    high: float | None = None
    shallowest: float = 3.0
    inflates: str | None = None
    lives: float = 0.0
    gas: tuple = (16.0, 60.0)  # at rest, at peak
    oxygen: dict = field(default_factory=lambda: dict(zip(LEVELS, (0.7, 1.0, 1.5, 2.2, 3.0))))

    @property
    def apart(self):
        """Whether a cylinder's analysis is not what was ordered."""
        return any(cylinder.leanest != cylinder.richest for cylinder in self.cylinders)

    def kdl(self):
        site = words(("water", self.line or "fresh"), ("altitude", number(self.altitude)),
                     ("temperature", None if self.celsius is None else number(self.celsius)),
                     ("depth-by", "line" if self.line else None))
        out = [f'plan "{self.name}" on="2027-05-15" status=draft {{\n    site "Greyfen quarry"{site}\n']
        out.append("    limits {\n")
        if self.low is not None:
            out.append(f"        gradient low={number(self.low)} high={number(self.high)}\n")
        if self.shallowest != 3.0:
            out.append(f"        shallowest-stop {number(self.shallowest)}\n")
        out.append("        reserve 50\n    }\n")
        for at, dive in enumerate(self.dives):
            if at:
                out.append(f"    interval {number(self.interval)}\n")
            out.append(f'    dive "{dive.name}" {{\n')
            out.extend(f"        {leg.kdl()}\n" for leg in dive.legs)
            unit = [] if self.unit.kind == "open" else [("unit", '"fen-3"')]
            takes = [(role, f'"{name}"') for role, name in dive.takes.items()]
            other = [("set-point", None if dive.set_point is None else number(dive.set_point)), ("inflates", self.inflates)]
            more = "".join(f'            cylinder "{name}" role=deco\n' for name in dive.more_deco)
            more = f" {{\n{more}        }}" if more else ""
            out.append(f'        diver "Rowan"{words(*unit, *takes, *other)}{more}\n    }}\n')
        out.append("}\n\n")
        if self.unit.kind != "open":
            out.append(self.unit.kdl())
        out.extend(cylinder.kdl() for cylinder in self.cylinders)
        oxygen = words(*((level, number(self.oxygen[level])) for level in LEVELS))
        gas = words(("rest", number(self.gas[0])), ("peak", number(self.gas[1])))
        lives = f"    lives altitude={number(self.lives)}\n" if self.lives else ""
        out.append(f'diver "Rowan" {{\n    gas{gas}\n    oxygen{oxygen}\n{lives}}}\n')
        return "".join(out)
