"""A simulator of whole dives that goes the other way round from the engine: nothing here is solved beforehand.

What is integrated, all in one go by SciPy, are litres of oxygen, helium and all gas in a loop, what each cylinder gives,
thirty-two tensions of inert gas and the two oxygen clocks. Valves switch at events that the solver finds; stops are found
by diving them, minute by minute.

    world.py       the conventions and constants that are not a model's own, with their sources
    apparatus.py   the flows in and out of the four kinds of loop
    integrate.py   one leg: the equations, the valves' events
    ascent.py      the way up, its stops, the time left without stops
    cylinders.py   what a gauge reading is worth, by CoolProp
    plan.py        a plan as numbers, and as the text that the engine reads
    dive.py        a plan's dives, one after the other
    invent.py      plausible plans from a seed
    beside.py      the figures of two simulators beside each other

The compartments' coefficients and the clocks' tables come from `schedules.py` and `loop_transients.py` beside this
folder, which owe nothing to the engine either.
"""
