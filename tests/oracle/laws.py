# SPDX-License-Identifier: MIT
"""The laws of the tubes as text for the reference engine, written from the formulas in DEVELOPERS.md ("The laws of the tubes") and from nothing
else: constants come by name from `tubewright model`, equations do not.

Each function takes the constants and the volts of the terminals against the common one (as text) and gives the amperes into each terminal but the
last (as text).
"""


def number(x):
    return repr(float(x))


def soft(x, width):
    """width ln(1 + exp(x/width)), without overflow."""
    return f"(max({x},0)+({width})*ln(1+exp(-abs({x})/({width}))))"


def cube(x):
    """x to the power 3/2, x >= 0; the trifle keeps the slope of the root finite."""
    return f"(({x})*sqrt(({x})+1e-12))"


def near(v):
    """An electrode's volts, let go softly near and below zero."""
    return soft(v, "0.3")


def grid(c, v):
    drive = soft("(({})-({}))".format(v, number(c["grid_onset"])), "0.15")
    return f"({number(c['emission'] * c['grid_perveance'])}*{cube(drive)}+1e-12*({v}))"


def vacuum_diode(c, v):
    forward = f"max({v[0]},0)"
    return [f"{number(c['emission'] * c['perveance'])}*{cube(forward)}+1e-9*({v[0]})"]


def gas_diode(c, v):
    excess = soft("({})-({})".format(v[0], number(c["drop"])), number(c["width"]))
    return [f"{number(c['emission'] / c['slope_ohms'])}*{excess}+1e-9*({v[0]})"]


def signal_diode(c, v):
    return [grid({"emission": c["emission"], "grid_perveance": c["perveance"], "grid_onset": c["onset"]}, v[0])]


def triode(c, v):
    plate, control = v
    width = f"({number(c['width'])}+{number(c['width_share'] / c['mu'])}*{near(plate)})"
    drive = soft(f"(({control})+({plate})*{number(1 / c['mu'])}+({number(c['contact'])}))", width)
    share = f"({near(plate)}/({near(plate)}+1+{number(c['grid_hold'])}*{near(control)}))"
    return [f"{number(c['emission'] * c['perveance'])}*{cube(drive)}*{share}+1e-10*({plate})", grid(c, control)]


def space_current(c, plate, screen, control):
    field = f"(({screen})*{number(1 / c['mu'])}+({plate})*{number(1 / c['mu_plate'])})"
    width = f"({number(c['width'])}+{number(c['width_share'] / c['mu'])}*{near(screen)})"
    contact = f"({number(c['contact'])})"
    text = cube(soft(f"(({control})+{field}+{contact})", width))
    if c["tail"] > 0:
        part = number(c["tail_field"])
        text += f"+{number(c['tail'])}*" + cube(soft(f"(({control})+{part}*{field}+{contact})", f"({part}*{width})"))
    return f"({number(c['emission'] * c['perveance'])}*({text}))"


def plate_and_screen(c, plate, screen, control):
    space = space_current(c, plate, screen, control)
    reach = f"({near(screen)}/({near(screen)}+1))"
    squared = f"({near(plate)}*{near(plate)})"
    share = f"({squared}/({squared}*(1+{number(c['screen_share'])}*{reach})+{number(c['knee'])}*{near(screen)}*{near(screen)}+1))"
    return [f"{space}*{share}+1e-10*({plate})", f"{space}*(1-{share})*{reach}+1e-10*({screen})"]


def pentode(c, v):
    plate, screen, control = v
    return plate_and_screen(c, plate, screen, control) + [grid(c, control)]


def oscillator_grid(c, volts, oscillator_plate):
    peaks = soft(f"(({volts})+{number(c['swing'])}*{near(oscillator_plate)})", "0.3")
    return f"{number(c['emission'] * c['oscillator_grid'])}*{peaks}+1e-12*({volts})"


def converter(c, v):
    plate, screen, anode, oscillator, signal = v
    anode_amps = f"{number(c['emission'] * c['anode_perveance'])}*{cube(near(anode))}+1e-10*({anode})"
    return plate_and_screen(c, plate, screen, signal) + [anode_amps, oscillator_grid(c, oscillator, anode), grid(c, signal)]


def pentagrid(c, v):
    plate, screen, oscillator, signal = v
    return plate_and_screen(c, plate, screen, signal) + [oscillator_grid(c, oscillator, screen), grid(c, signal)]


LAWS = {"vacuum-diode": vacuum_diode, "gas-diode": gas_diode, "signal-diode": signal_diode, "triode": triode, "pentode": pentode,
        "converter": converter, "pentagrid": pentagrid}
