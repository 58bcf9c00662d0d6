"""What a gauge reading is worth, by the Helmholtz-energy equations of state of CoolProp (not GERG-2008, by which the
engine goes: the two agree within 0.2 % for air, nitrox and oxygen, 0.35 % for trimix)."""

from functools import lru_cache

import CoolProp.CoolProp as cp

#: Argon is counted as nitrogen, as a mix's remainder is.
GASES = ("Oxygen", "Helium", "Nitrogen")
#: A mole of ideal gas at 1 bar and 20 °C, litres (CODATA 2018's gas constant).
MOLE_L = 8.31446261815324 * 293.15 / 100.0


@lru_cache(maxsize=None)
def state(o2, he):
    shares = [(gas, share) for gas, share in zip(GASES, (o2, he, 1.0 - o2 - he)) if share > 1e-9]
    made = cp.AbstractState("HEOS", "&".join(gas for gas, _ in shares))
    if len(shares) > 1:
        made.set_mole_fractions([share for _, share in shares])
    made.specify_phase(cp.iphase_gas)
    return made


def moles_a_litre(o2, he, bar, celsius):
    made = state(o2, he)
    made.update(cp.PT_INPUTS, bar * 1e5, celsius + 273.15)
    return made.rhomolar() / 1000.0


def free_litres(size, o2, he, gauge, surface, celsius):
    """Free litres of gas in a cylinder at a gauge reading."""
    return size * moles_a_litre(o2, he, gauge + surface, celsius) * MOLE_L


def gauge(size, o2, he, litres, surface, celsius):
    """The gauge reading at which a cylinder holds so many free litres, by halving."""
    low, high = -surface, 1000.0
    for _ in range(60):
        middle = 0.5 * (low + high)
        if middle + surface <= 1e-6 or free_litres(size, o2, he, middle, surface, celsius) < litres:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
