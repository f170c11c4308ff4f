# SPDX-License-Identifier: MIT
"""The laws of the tubes as text for the reference engine, written from the formulas in DEVELOPERS.md ("The laws of the tubes") and from nothing
else: constants come by name from `tubewright model`, equations do not.

Each function takes the constants, the volts of the terminals against the common one (as text), and `let`, which names a piece of text so that it is
worked out once; it gives the amperes into each terminal but the last (as text).
"""


def number(x):
    return repr(float(x))


def soft(x, width, let):
    """width ln(1 + exp(x/width)), without overflow."""
    x, width = let(x), let(width)
    return let(f"max({x},0)+({width})*ln(1+exp(-abs({x})/({width})))")


def cube(x, let):
    """x to the power 3/2, x >= 0; the trifle keeps the slope of the root finite."""
    x = let(x)
    return f"({x}*sqrt(abs({x})+1e-12))"


def near(v, let):
    """An electrode's volts, let go softly near and below zero."""
    return soft(v, "0.3", let)


def grid(c, v, let):
    drive = soft("({})-({})".format(v, number(c["grid_onset"])), "0.15", let)
    return f"{number(c['emission'] * c['grid_perveance'])}*{cube(drive, let)}+1e-12*({v})"


def vacuum_diode(c, v, let):
    space = let(f"{number(c['perveance'])}*{cube(f'max({v[0]},0)', let)}")
    if c.get("limit_amps", 0) > 0:
        over = let(f"({space})*{number(1 / c['limit_amps'])}")
        space = f"({space})/sqrt(sqrt(1+{over}*{over}*{over}*{over}))"
    return [f"{number(c['emission'])}*{space}+1e-9*({v[0]})"]


def gas_diode(c, v, let):
    excess = soft("({})-({})".format(v[0], number(c["drop"])), number(c["width"]), let)
    return [f"{number(c['emission'] / c['slope_ohms'])}*{excess}+1e-9*({v[0]})"]


def signal_diode(c, v, let):
    return [grid({"emission": c["emission"], "grid_perveance": c["perveance"], "grid_onset": c["onset"]}, v[0], let)]


def triode(c, v, let):
    plate, control = v
    let_go = near(plate, let)
    width = f"{number(c['width'])}+{number(c['width_share'] / c['mu'])}*{let_go}"
    drive = soft(f"({control})+({plate})*{number(1 / c['mu'])}+({number(c['contact'])})", width, let)
    share = let(f"{let_go}/({let_go}+1+{number(c['grid_hold'])}*{near(control, let)})")
    return [f"{number(c['emission'] * c['perveance'])}*{cube(drive, let)}*{share}+1e-10*({plate})", grid(c, control, let)]


def space_current(c, plate, screen, control, let):
    field = let(f"({screen})*{number(1 / c['mu'])}+({plate})*{number(1 / c['mu_plate'])}")
    width = let(f"{number(c['width'])}+{number(c['width_share'] / c['mu'])}*{near(screen, let)}")
    contact = f"({number(c['contact'])})"
    text = cube(soft(f"({control})+{field}+{contact}", width, let), let)
    if c["tail"] > 0:
        part = number(c["tail_field"])
        text += f"+{number(c['tail'])}*" + cube(soft(f"({control})+{part}*{field}+{contact}", f"{part}*{width}", let), let)
    return let(f"{number(c['perveance'])}*({text})*1e3")  # milliamperes: the engine's volts of a named piece need some size


def plate_and_screen(c, plate, screen, control, let):
    space = space_current(c, plate, screen, control, let)
    total = let(space_current(c, plate, screen, f"{number(c['total_at'])}*{near(screen, let)}", let)) if c.get("divides", 0) > 0 else None
    plate_near, screen_near = near(plate, let), near(screen, let)
    reach = let(f"{screen_near}/({screen_near}+1)")
    # bounded, and as shares of their sum, so that no trial volts of the engine overflow in a fourth power
    plate_bound, screen_bound = let(f"min({plate_near},1e4)"), let(f"min({screen_near},1e4)")
    plate_2, screen_2 = let(f"{plate_bound}*{plate_bound}"), let(f"{screen_bound}*{screen_bound}")
    both = let(f"{plate_2}+{screen_2}+1")
    plate_part, screen_part = f"({plate_2}/{both})", f"({screen_2}/{both})"
    kept = let(f"{number(c['screen_share'])}*{reach}+{number(c['knee'])}*{screen_part}")
    held = f"{number(c['corner'])}*{screen_part}*{screen_part}+1/({both}*{both})"
    share = let(f"{plate_part}*{plate_part}/({plate_part}*{plate_part}*(1+{kept})+{held})")
    scale = number(1e-3 * c["emission"])
    to_screen = f"{space}*(1-{share})" if total is None else f"{total}*(1-{share})*{total}/({total}*(1-{share})+{space}*{share}+1e-30)"
    return [f"{scale}*{space}*{share}+1e-10*({plate})", f"{scale}*{to_screen}*{reach}+1e-10*({screen})"]


def pentode(c, v, let):
    plate, screen, control = v
    return plate_and_screen(c, plate, screen, control, let) + [grid(c, control, let)]


def oscillator_grid(c, volts, oscillator_plate, let):
    peaks = soft(f"({volts})+{number(c['swing'])}*{near(oscillator_plate, let)}", "0.3", let)
    return f"{number(c['emission'] * c['oscillator_grid'])}*{peaks}+1e-12*({volts})"


def converter(c, v, let):
    plate, screen, anode, oscillator, signal = v
    anode_near = near(anode, let)
    short = let(f"min(max(-(({oscillator})+{number(c['swing'])}*{anode_near})/({anode_near}/10+1),0),1)")
    share = f"(1-3*{short}*{short}+2*{short}*{short}*{short})"
    anode_amps = f"{number(c['emission'] * c['anode_perveance'])}*{cube(anode_near, let)}*{share}+1e-10*({anode})"
    return plate_and_screen(c, plate, screen, signal, let) + [anode_amps, oscillator_grid(c, oscillator, anode, let), grid(c, signal, let)]


def pentagrid(c, v, let):
    plate, screen, oscillator, signal = v
    return plate_and_screen(c, plate, screen, signal, let) + [oscillator_grid(c, oscillator, screen, let), grid(c, signal, let)]


def on_filament(law, lengths):
    """A law whose cathode is a filament of one length or two: each emits from its lower end (softly) and carries an equal part; what leaves enters at
    the ends of the lengths by halves of their part. The nodes after the law's own: the middle of two lengths, the other end; the last: the first end."""

    def whole(c, v, let):
        own, joints = v[: len(v) - lengths], ["0"] + list(v[len(v) - lengths:])
        amps = None
        for near_end, far_end in zip(joints, joints[1:]):
            low = let("({})-{}".format(near_end, soft(f"({near_end})-({far_end})", "0.05", let)))
            part = law(c, [let(f"({x})-({low})") for x in own], let)
            amps = part if amps is None else [f"{a}+{b}" for a, b in zip(amps, part)]
        amps = [let(f"({a})/{lengths}") for a in amps]
        total = "+".join(f"({a})" for a in amps)
        entering = [0.5] if lengths == 1 else [0.5, 0.25]
        return amps + [f"-{number(share)}*({total})" for share in entering]

    return whole


LAWS = {"vacuum-diode": vacuum_diode, "gas-diode": gas_diode, "signal-diode": signal_diode, "triode": triode, "pentode": pentode,
        "converter": converter, "pentagrid": pentagrid}
for _name in ("signal-diode", "triode", "pentode", "converter", "pentagrid"):
    LAWS[f"{_name} on a filament"] = on_filament(LAWS[_name], 1)
    LAWS[f"{_name} on a tapped filament"] = on_filament(LAWS[_name], 2)
