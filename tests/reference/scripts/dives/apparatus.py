"""The flows in and out of a loop, as a person watching its valves would write them down.

A loop is asked at an instant for what flows, given how far its controller is open, and says what comes from which
cylinder, of which mix, and what it spills. That it vents what it can't hold is the integrator's business, as it is the
same for all.
"""

from dataclasses import dataclass


from .world import STPD, VENTILATION, Model

# Breathed in free litres for each free litre of oxygen, as a dry loop at 20 °C had it.
VENTILATION_DRY = 25.0 * (1.01325 - 0.06282) / 1.01325 * 273.15 / 310.15


@dataclass
class Instant:
    """What a valve can feel: pressure, what the body takes, how fast the loop's content would have to grow to stay full,
    whether it is short of that, and its share of oxygen."""

    bar: float
    takes: float
    grows: float
    short: bool
    o2: float


@dataclass
class Loop:
    """What all loops share."""

    model: Model
    volume: float
    #: Greatest flow of the controller's valve; 0 where there is none.
    greatest: float = 0.0
    set_point: float | None = None
    #: What is always on.
    constant: float = 0.0
    #: The make-up valve's greatest flow: infinite without a bound, 0 without a valve.
    make_up: float = float("inf")

    def looked_at(self, o2, bar):
        """What the controller looks at, over its set-point."""
        return 0.0

    def asked(self, o2, bar):
        """The partial pressure that the set-point stands for, or none."""
        return None

    def flows(self, at, opened):
        """((cylinder's role, litres a minute, is it feed), …) and the spill."""
        raise NotImplementedError


@dataclass
class SemiClosed(Loop):
    """Supply gas: always on, from a controller that looks at the share of oxygen, and from a valve that makes up volume."""

    #: Whether the set-point is a pressure in bar, not a share.
    in_bar: bool = False

    def looked_at(self, o2, bar):
        return (o2 * bar if self.in_bar else o2) - self.set_point

    def asked(self, o2, bar):
        if self.set_point is None:
            return None
        return min(self.set_point, bar) if self.in_bar else self.set_point * bar

    def flows(self, at, opened):
        fed = self.constant + opened
        lacks = self.make_up if at.short else max(0.0, at.takes + at.grows - fed)
        return [("supply", fed, True), ("supply", min(lacks, self.make_up), False)], 0.0


@dataclass
class Passive(Loop):
    """Each breath spills a share; a valve makes up what is missing from the loop's volume."""

    ratio: float = 10.0
    compensated: bool = False

    def spill(self, at):
        if self.model.dry_cold:
            return VENTILATION_DRY * at.takes / self.ratio * (1.0 if self.compensated else at.bar)
        return VENTILATION * (at.takes / STPD) * self.model.dry(1.0 if self.compensated else at.bar) / self.ratio

    def flows(self, at, opened):
        spill = self.spill(at)
        return [("supply", max(0.0, spill + at.takes + at.grows), True)], spill


@dataclass
class Closed(Loop):
    """Oxygen from a controller that looks at the partial pressure; diluent makes up volume."""

    #: From this share of oxygen on a loop can't be made richer: no more is injected than is used and depth adds.
    NEARLY = 0.99

    def looked_at(self, o2, bar):
        return o2 * bar - self.set_point

    def asked(self, o2, bar):
        return min(self.set_point, bar)

    def flows(self, at, opened):
        if not self.model.dry_cold and at.o2 >= self.NEARLY:
            opened = min(opened, max(0.0, at.takes + at.grows))
        lacks = self.make_up if at.short else max(0.0, at.takes + at.grows - opened)
        return [("oxygen", opened, True), ("diluent", min(lacks, self.make_up), False)], 0.0
