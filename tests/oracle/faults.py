#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The study of faults against another engine. Faults are drawn by stratum (supply, leaks, resistors, heaters, windings) from the rows of
`tubewright threats`, placed anew in the equations rebuilt from `tubewright model` (a path is a resistor between the nets named, an opening an ohmic
value, a shorted layer a winding of its own), run by libngspice, and the rms of the primary and of every winding half compared: 2 % or .1 mA. Heaters
and emission are settled here by their laws, in rounds.

    tests/oracle/faults.py --program build/dev/cli/tubewright --share 20 netlists/s1-quarry-hill.xml

--plant FACTOR makes every fault's ohms wrong by that factor: the comparison must then fail. Exit status 0: all within; 1: not; 2: too few compared.
"""

import argparse
import copy
import math
import random
import sys
import time
from types import SimpleNamespace

import compare
import rebuild

STRATA = {"supply": 0.25, "leak": 0.25, "resistor": 0.25, "heater": 0.125, "winding": 0.125}
PATHS = {"short", "leak", "to chassis", "tracking", "plate to cathode short", "heater to cathode short"}
STEADY = 1e-3
FLOOR = 1e-4
OPEN = 1e9


def stratum(row, sheet):
    part, fault = row["part"], row["fault"]
    kinds = {e["kind"] for e in sheet["elements"] if e["part"] == part}
    heaters = {e["part"] for e in sheet["elements"] if e["law"] == "heater"}
    if row["place"]["winding"] and ("open" in fault or "layer short" in fault):
        return "winding" if "transformer" in kinds else None
    if "dead" in fault or (part in heaters and "resistor" in kinds and not any(e["kind"] == "device" for e in sheet["elements"] if e["part"] == part)):
        return "heater"
    if "heater" in fault and "to chassis" in fault:
        return "heater"
    if "capacitor" in kinds:
        return "leak" if row["mode"] == "leak" else "supply" if row["mode"] == "short" else None
    if kinds == {"resistor"} and part.startswith("R"):
        return "resistor"
    if "plate" in fault and "short" in fault and any(e["law"] in ("vacuum-diode", "gas-diode") for e in sheet["elements"] if e["part"] == part):
        return "supply"
    return None


def placed(sheet, row, wrong):
    """The sheet with the fault in it; None where this script has no way to place it."""
    sheet = copy.deepcopy(sheet)
    sheet["by_id"] = {e["id"]: e for e in sheet["elements"]}
    mine = [e for e in sheet["elements"] if e["part"] == row["part"]]
    place, fault = row["place"], row["fault"]

    def add(name, a, b, ohms):
        sheet["elements"].append({"id": name, "part": name, "kind": "resistor", "law": None, "nodes": [a, b], "values": {"ohms": ohms}})

    if place["winding"] and "open" in fault or "layer short" in fault:
        names = compare.winding_names(row["file"])[row["part"]]
        k = names.index(place["winding"]) + 1
        core = next((e for e in mine if e["kind"] == "transformer"), None)
        if core is None:
            return None
        if "open" in fault:
            core["values"][f"ohms.{k}"] = OPEN / wrong
            return sheet
        ring = len(core["nodes"]) // 2 + 1
        for name in ("turns", "ohms"):
            core["values"][f"{name}.{ring}"] = 0.05 * core["values"][f"{name}.{k}"] * (wrong if name == "ohms" else 1)
            core["values"][f"{name}.{k}"] *= 0.95
        core["nodes"] = core["nodes"] + ["the ring", sheet["nodes"][0]]
        sheet["nodes"] = sheet["nodes"] + ["the ring"]
        add("ring", "the ring", sheet["nodes"][0], 1e-6)
        return sheet
    if "dead" in fault:
        for e in mine:
            if e["law"] == "heater":
                e["out"] = True
        return sheet if any(e.get("out") for e in mine) else None
    if row["mode"] == "open" or row["mode"] == "drift":
        ohmic = [e for e in mine if e["kind"] == "resistor"]
        if len(ohmic) != 1:
            return None
        ohmic[0]["values"]["ohms"] *= OPEN if row["mode"] == "open" else place["factor"] * wrong
        if ohmic[0]["law"] == "heater":
            ohmic[0]["out"] = True
        return sheet
    if place["from_net"] and place["to_net"] and row["fault_ohms"]:
        add("fault", place["from_net"], place["to_net"], row["fault_ohms"] * wrong)
        return sheet
    return None


GRIDS = {"triode": {1}, "pentode": {2}, "converter": {3, 4}, "pentagrid": {3}}


def floats(sheet):
    """Some grid has no way for direct current to the reference: it has a history, not a value, and no engine settles it in seconds."""
    root = {n: n for n in sheet["nodes"]}

    def find(n):
        while root[n] != n:
            n = root[n]
        return n

    for e in sheet["elements"]:
        if e["kind"] == "resistor" and e["values"]["ohms"] > 1e8 or e["kind"] in ("capacitor", "gap", "current-source"):
            continue
        if e["kind"] == "transformer":
            groups = [e["nodes"][k:k + 2] for k in range(0, len(e["nodes"]), 2)]
        else:
            groups = [[n for k, n in enumerate(e["nodes"]) if k not in GRIDS.get(e["law"], set())]]
        for group in groups:
            for n in group[1:]:
                root[find(n)] = find(group[0])
    home = find(sheet["nodes"][0])
    return any(find(e["nodes"][k]) != home for e in sheet["elements"] if e["kind"] == "device" for k in GRIDS.get(e["law"], set()))


def emission(share):
    """Of an oxide cathode at a share of its heater volts: none below .3, all from .6, smooth between."""
    x = min(max((share - 0.3) / 0.3, 0.0), 1.0)
    return x * x * (3 - 2 * x)


def currents(sheet, names, transformer, starts, hertz, options):
    """Rms of each winding of the transformer once heaters and emission have settled."""
    elements = rebuild.in_scenario(sheet, "normal")
    marks = {e["id"]: e for e in sheet["elements"]}
    full = {k: e["values"].get("emission") for k, e in elements.items()}
    heaters = [k for k, e in elements.items() if e["law"] == "heater" and e["nodes"][0] != e["nodes"][1]]
    for k in heaters:
        if marks[k].get("out"):
            elements[k]["values"]["ohms"] = OPEN
            for e in elements.values():
                if e["part"] == elements[k]["part"] and "emission" in e["values"]:
                    full[e["id"]] = e["values"]["emission"] = 0.0
    fixed = {"nodes": sheet["nodes"], "elements": list(elements.values()), "changes": []}
    for _ in range(6):
        for seconds in (0.8, 2.4):
            net = rebuild.netlist(fixed, "normal", starts, 1.0, hertz)
            vectors = {f"current {e} {k}": v for (e, k), v in net.currents.items() if elements.get(e, {}).get("kind") == "transformer" and
                       elements[e]["part"] == transformer}
            vectors |= {f"heater {e}": v for e, v in net.heaters.items()}
            began = time.perf_counter()
            found = compare.engine(net, vectors, hertz, seconds, options.step, options)
            options.engine_seconds += time.perf_counter() - began
            if compare.unsteady(found)[0] <= STEADY:
                break
        else:
            raise compare.NoComparison(f"not steady after {seconds} s")
        moved = 0.0
        for k in net.heaters:
            if marks.get(k, {}).get("out") or k not in elements:
                continue
            values = elements[k]["values"]
            volts = found[f"heater {k}"]["rms"]
            fresh = rebuild.heater_ohms(values, volts)
            moved = max(moved, abs(math.log(fresh / values["ohms"])))
            values["ohms"] = fresh
            for e in elements.values():
                if e["part"] == elements[k]["part"] and full.get(e["id"]) is not None and e["kind"] == "device":
                    e["values"]["emission"] = full[e["id"]] * emission(volts / values["rated_volts"])
        if moved < 0.004:
            break
    return {names[k - 1]: found[f"current {e} {k}"]["rms"] for (e, k) in net.currents
            if f"current {e} {k}" in found and k <= len(names)}


def study(program, file, options):
    sheet = compare.read_sheet(compare.ask(program, "model", file))
    answer = compare.ask(program, "threats", file, "--all")
    volts = compare.ask(program, "volts", file, "--scenario", "normal")
    hertz = volts["conditions"][0]["line_hertz"]
    starts = {r["net"]: r["dc_volts"] for r in volts["rows"] if r.get("net") and r["dc_volts"] is not None}
    target = answer["transformer"]
    names = compare.winding_names(file)[target]
    pools = {name: [] for name in STRATA}
    for row in answer["rows"]:
        row["file"] = file
        name = stratum(row, sheet) if row["target"] == target and row["solved"] and not row["ahead_of_primary"] else None
        there = placed(sheet, row, 1) if name else None
        if there is not None and not floats(there):
            pools[name].append(row)
    draw = random.Random(options.seed)
    bad = done = 0
    options.engine_seconds = 0.0
    worst = (0.0, "")
    for name, share in STRATA.items():
        wanted = round(options.share * share + 1e-9)
        for row in draw.sample(sorted(pools[name], key=lambda r: r["fault"]), min(wanted, len(pools[name]))):
            try:
                there = currents(placed(sheet, row, options.plant), names, target, starts, hertz, options)
            except compare.NoComparison as why:
                print(f"  none {name}: {row['fault']}: {why}")
                continue
            done += 1
            off, which = 0.0, ""
            for w in row["windings"]:
                here, other = w["rms_amps"], there[w["winding"].split(".", 1)[1]]
                far = abs(here / max(other, 1e-12) - 1) if abs(here - other) > FLOOR else 0.0
                if far > off:
                    off, which = far, f"{w['winding']} {here:.5g} A here, {other:.5g} A there"
            within = off <= 0.02
            bad += not within
            if off > worst[0]:
                worst = (off, f"{row['fault']}: {which}")
            print(f"  {'ok  ' if within else 'OFF '} {name}: {row['fault']} ({'re-shot' if row['reshot'] else 'curve'}): worst {100 * off:.3f} % {which}", flush=True)
    print(f"{file}: {done} faults compared, {bad} off; worst {100 * worst[0]:.3f} % ({worst[1]})")
    print(f"the engine alone: {options.engine_seconds:.3f} s")
    return bad, done


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("files", nargs="+")
    parser.add_argument("--program", required=True)
    parser.add_argument("--share", type=int, default=20, help="faults of each set")
    parser.add_argument("--least", type=int, default=0, help="fewer compared is a failure; all that were asked for when not given")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--step", type=float, default=2e-5)
    parser.add_argument("--reltol", type=float, default=1e-4)
    parser.add_argument("--limit", type=float, default=240)
    parser.add_argument("--plant", type=float, default=1.0)
    parser.add_argument("--must-differ", action="store_true", help="0 where something is off")
    options = parser.parse_args()
    bad = done = 0
    for file in options.files:
        b, d = study(options.program, file, SimpleNamespace(**vars(options)))
        bad, done = bad + b, done + d
    if done < (options.least or len(options.files) * options.share):
        return 2
    return 1 if bool(bad) != options.must_differ else 0


if __name__ == "__main__":
    sys.exit(main())
