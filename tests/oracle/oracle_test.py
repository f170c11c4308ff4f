#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The reference itself, held to what is known without any program: a divider, a transformer, a rectified sine, laws at points that a pencil can
reach."""

import math
import unittest
from types import SimpleNamespace

import compare
import laws
import rebuild

OPTIONS = SimpleNamespace(reltol=1e-4, limit=60)


def element(name, kind, nodes, law=None, **values):
    return {"id": name, "part": name, "kind": kind, "law": law, "nodes": nodes,
            "values": {k.replace("__", "."): v for k, v in values.items()}}


def solve(elements, nodes, seconds=0.3, changes=(), scenario="normal"):
    net = rebuild.netlist({"nodes": nodes, "elements": elements, "changes": list(changes)}, scenario, {})
    vectors = {n: f"v({net.nodes[n]})" for n in nodes[1:]} | {f"{e}/{k}": v for (e, k), v in net.currents.items()}
    return compare.engine(net, vectors, 60.0, seconds, 2e-5, OPTIONS)


LINE = element("line", "voltage-source", ["in", "ground"], volts_rms=100.0, hertz=60.0)


class Reference(unittest.TestCase):
    def test_a_divider_divides(self):
        found = solve([LINE, element("R1", "resistor", ["in", "out"], ohms=1e3), element("R2", "resistor", ["out", "ground"], ohms=3e3)],
                      ["ground", "in", "out"])
        self.assertAlmostEqual(found["out"]["rms"], 75, delta=0.01)

    def test_a_change_of_a_scenario_is_made_in_that_scenario_alone(self):
        parts = [LINE, element("R1", "resistor", ["in", "out"], ohms=1e3), element("R2", "resistor", ["out", "ground"], ohms=3e3)]
        change = {"scenario": "high-line", "element": "R2", "value": "ohms", "to": 1e3}
        self.assertAlmostEqual(solve(parts, ["ground", "in", "out"], changes=[change], scenario="high-line")["out"]["rms"], 50, delta=0.01)
        self.assertAlmostEqual(solve(parts, ["ground", "in", "out"], changes=[change])["out"]["rms"], 75, delta=0.01)

    def test_a_heater_has_its_rated_ohms_at_its_rated_volts_and_a_share_of_them_cold(self):
        values = {"rated_volts": 6.3, "rated_amps": 0.3, "exponent": 0.58, "cold_share": 1 / 6}
        self.assertAlmostEqual(rebuild.heater_ohms(values, 6.3), 21, delta=1e-9)
        self.assertAlmostEqual(rebuild.heater_ohms(values, 3.15), 21 * 0.5 ** 0.42, delta=1e-9)
        self.assertAlmostEqual(rebuild.heater_ohms(values, 0), 3.5, delta=1e-9)

    def test_a_change_of_nothing_is_refused(self):
        with self.assertRaises(ValueError):
            solve([LINE], ["ground", "in"], changes=[{"scenario": "normal", "element": "line", "value": "ohms", "to": 1}])

    def test_a_transformer_transforms_volts_and_amperes(self):
        values = {"turns__1": 100.0, "ohms__1": 1.0, "turns__2": 300.0, "ohms__2": 50.0, "magnetising_henries": 5.0, "loss_ohms": 1e5}
        found = solve([LINE, element("T1", "transformer", ["in", "ground", "out", "ground"], **values),
                       element("R1", "resistor", ["out", "ground"], ohms=10e3)], ["ground", "in", "out"])
        # By hand: secondary of 300 V behind 50 ohm and 1 ohm times 9, loaded with 10 k; the primary adds what the iron takes.
        self.assertAlmostEqual(found["out"]["rms"], 300 * 10e3 / 10059, delta=0.05)
        reflected, iron, loss = 3 * 300 / 10059, 100 / (2 * math.pi * 60 * 5), 100 / 1e5
        self.assertAlmostEqual(found["T1/1"]["rms"], math.hypot(reflected + loss, iron), delta=1e-4)

    def test_a_rectified_sine_has_its_mean(self):
        found = solve([LINE, element("D1", "device", ["in", "out"], "vacuum-diode", emission=1.0, perveance=100.0),
                       element("R1", "resistor", ["out", "ground"], ohms=1e3)], ["ground", "in", "out"])
        self.assertAlmostEqual(found["out"]["means"][-1], 100 * math.sqrt(2) / math.pi, delta=0.02)

    def test_a_capacitor_input_rectifier_stands_where_the_exact_grid_puts_it(self):
        # Half-wave with an ideal diode, source over load resistance 0.01, omega C R = 10: 0.7796 of the peak by exact integration, which is
        # done again below, without the engine.
        load, source, omega = 1e3, 10.0, 2 * math.pi * 60
        farads = 10 / (omega * load)
        found = solve([LINE, element("R1", "resistor", ["in", "a"], ohms=source),
                       element("D1", "device", ["a", "out"], "vacuum-diode", emission=1.0, perveance=1000.0),
                       element("C1", "capacitor", ["out", "ground"], farads=farads), element("R2", "resistor", ["out", "ground"], ohms=load)],
                      ["ground", "in", "a", "out"], seconds=0.6)
        expect = ideal_half_wave(load, source, farads, omega)
        self.assertAlmostEqual(expect, 0.7796, delta=0.0003)
        self.assertAlmostEqual(found["out"]["means"][-1] / (100 * math.sqrt(2)), expect, delta=0.001)

    def test_laws_at_points_that_a_pencil_can_reach(self):
        at = {"max": max, "min": min, "abs": abs, "ln": math.log, "exp": math.exp, "sqrt": math.sqrt}

        def amps(law, constants, *volts):
            return [eval(text, {"__builtins__": {}}, at) for text in laws.LAWS[law](constants, [repr(float(v)) for v in volts], lambda piece: f"({piece})")]

        self.assertAlmostEqual(amps("vacuum-diode", {"emission": 1.0, "perveance": 2e-3}, 25)[0], 0.25, delta=1e-6)
        self.assertAlmostEqual(amps("vacuum-diode", {"emission": 1.0, "perveance": 2e-3}, -300)[0], -3e-7, delta=1e-9)
        self.assertAlmostEqual(amps("vacuum-diode", {"emission": 0.0, "perveance": 2e-3}, 25)[0], 2.5e-8, delta=1e-9)
        triode = {"emission": 1.0, "perveance": 1e-3, "mu": 20.0, "contact": 0.0, "width": 0.01, "width_share": 0.0, "grid_hold": 0.0,
                  "grid_perveance": 1e-3, "grid_onset": 0.0}
        # 200/20 - 6 = 4 V of drive: 8 times the perveance, of which the plate takes 200/201.
        self.assertAlmostEqual(amps("triode", triode, 200, -6)[0], 8e-3 * 200 / 201, delta=1e-6)
        pentode = {"emission": 1.0, "perveance": 1e-3, "mu": 10.0, "mu_plate": 1e9, "contact": 0.0, "width": 0.01, "width_share": 0.0, "tail": 0.0,
                   "tail_field": 0.0, "screen_share": 0.25, "knee": 0.0, "corner": 0.0, "grid_perveance": 1e-3, "grid_onset": 0.0}
        # 100/10 - 6 = 4 V: 8 mA of space current, the screen's 1 : 4 lessened by the softness of 1 V in 100.
        plate, screen, _ = amps("pentode", pentode, 250, 100, -6)
        z = 100 / 101
        self.assertAlmostEqual(plate, 8e-3 * 250**2 / (250**2 * (1 + 0.25 * z) + 1), delta=1e-6)
        self.assertAlmostEqual(plate + screen, 8e-3 * (plate / 8e-3 + (1 - plate / 8e-3) * z), delta=1e-6)


def ideal_half_wave(load, source, farads, omega):
    """Mean over peak of an ideal diode behind `source` into C and R in parallel: small steps until two periods agree."""
    volts, last, steps = 0.8, None, 20000
    period = 2 * math.pi / omega
    dt = period / steps
    while True:
        total = 0.0
        for k in range(steps):
            total += volts
            drive = math.cos(omega * dt * (k + 0.5))
            amps = max(0.0, drive - volts) / source - volts / load
            volts += dt * amps / farads
        mean = total / steps
        if last is not None and abs(mean - last) < 1e-6:
            return mean
        last = mean


if __name__ == "__main__":
    unittest.main()
