"""The conventions that every part goes by. Inside: bar absolute, metres, minutes, fractions, litres at 1 bar and 20 °C."""

from dataclasses import dataclass

from schedules import BAR_PER_M, SEA, iso_surface  # noqa: F401  (instruments: 1019.7 kg/m3; ISO 2533)

#: Free litres in a litre at standard temperature and pressure, dry (0 °C, 1.01325 bar): the ideal gas law.
STPD = 1.01325 * 293.15 / 273.15

#: What a measured line reads against: bar a metre of fresh and of salt water (1000 and 1025 kg/m3), g = 9.80665.
LINE = {"fresh": 1000 * 9.80665e-5, "salt": 1025 * 9.80665e-5}

#: The gas of a loop: 34 °C (common practice, no source) and saturated; the saturation pressure there by IAPWS-95
#: (CoolProp 8.0.0: 0.05325 bar), to three figures.
LOOP_C, LOOP_VAPOUR = 34.0, 0.0533

#: What a diver breathes against what the body takes of oxygen: 25 litres at body temperature and saturated for a litre
#: STPD (common practice in the literature on passive loops).
VENTILATION = 25.0
#: Exhaled air, in the loop when a diver begins to breathe from it (from memory: about 17 % oxygen).
EXHALED = 0.17

#: Suit and wing, litres (common practice, no source): a suit takes 6 L for each bar of every descent; a wing is filled to
#: 5 L on leaving the surface, is kept at that on every descent, and takes 15 L once the diver is up.
SUIT_L, WING_DEEP_L, WING_UP_L = 6.0, 5.0, 15.0

#: The oxygen clock's halving at the surface, minutes (common practice, no source).
HALVING = 90.0


@dataclass(frozen=True)
class Model:
    """Which loop is meant: wet and warm, or, as an older engine took it, dry and at 20 °C."""

    dry_cold: bool = False

    def held(self, volume, bar):
        """Free litres of dry gas that fill a loop."""
        return volume * self.dry(bar)

    def dry(self, bar):
        if self.dry_cold:
            return bar
        return (bar - LOOP_VAPOUR) * 293.15 / (273.15 + LOOP_C)

    @property
    def slope(self):
        """What a litre of loop takes more for a bar more."""
        return 1.0 if self.dry_cold else 293.15 / (273.15 + LOOP_C)
