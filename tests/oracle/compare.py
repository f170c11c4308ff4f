#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The solver against another engine. For each chassis file and scenario: the equations are rebuilt from `tubewright model` (rebuild.py, laws.py), run as
a long transient by libngspice in a process of its own (engine.py) until the last six cycles stand still to 1e-4, and compared with
`tubewright volts`:

    direct volts of every net   0.5 % or 5 mV          ripple, peak to peak, of every net   2 % or 5 mV
    rms of every winding half   2 % or 0.1 mA          peak of every rectifier plate        2 % or 0.1 mA (6 % behind a vibrator)
    ohms of every heater and dial lamp, by its law from the volts that stand across it there: 1 %

--plant ID:CONSTANT=FACTOR makes one constant of one device wrong in the rebuilt equations: the comparison must then fail, or it shows nothing.
Exit status 0: all within; 1: not; 2: no comparison could be made.

    tests/oracle/compare.py --program build/dev/cli/tubewright netlists/s1-quarry-hill.xml
"""

import argparse
import json
import subprocess
import sys
import tempfile
from pathlib import Path
from xml.etree import ElementTree

import rebuild

HERE = Path(__file__).resolve().parent
CYCLES = 8
OPEN = 1000  # times the hot ohms of a heater: it is not there
STEADY = 1e-4
# Seconds of transient, the share of the answer that direct volts begin at, so that standing still has to be earned, and a factor for the step. A supply without a
# load creeps for minutes, and conducts for microseconds: there the answer itself is the start, and the step is finer. An answer too low climbs away from there; one
# too high stays, as nothing discharges it, so the supply must also climb to it from below.
ATTEMPTS = ((1.8, 0.9, 1), (3.6, 0.9, 1), (1.8, 1.0, 0.25))
CLIMB = (3.6, 0.97, 1)
# The return of a signal holds its grid for seconds: such a run begins at the answer, and a third of what that is wrong by shows at its end, as does its creep.
DRIVEN, DRIVEN_STEADY = ((1.8, 1.0, 1),), 5e-4


class NoComparison(Exception):
    pass


def ask(program, *words, limit=120):
    run = subprocess.run([program, *words, "--format", "json"], capture_output=True, text=True, check=False, timeout=limit)
    if run.returncode not in (0, 1):
        raise NoComparison(f"{' '.join(words)}: exit status {run.returncode}: {run.stderr.strip()[:400]}")
    return json.loads(run.stdout)


def engine(net, vectors, hertz, seconds, step, options):
    period = 1 / hertz
    lines = net.lines + [
        f".options reltol={options.reltol:g} abstol=1e-9 vntol=1e-6 itl4=100 cshunt=1e-13",  # a tenth of a picofarad to ground, for its first step
        f".tran {step:g} {seconds:.9g} {seconds - (CYCLES + 0.5) * period:.9g} {step:g} uic", ".end"]
    job = {"lines": lines, "end": seconds, "period": period, "cycles": CYCLES, "vectors": vectors}
    try:
        run = subprocess.run([sys.executable, str(HERE / "engine.py")], input=json.dumps(job), capture_output=True, text=True, check=False,
                             timeout=options.limit)
    except subprocess.TimeoutExpired:
        raise NoComparison(f"the reference engine took more than {options.limit} s") from None
    try:
        found = json.loads(run.stdout)
    except json.JSONDecodeError:
        raise NoComparison(f"the reference engine died: {run.stderr[-300:]}") from None
    if "error" in found:
        raise NoComparison(f"the reference engine: {found['error']}")
    return found


def unsteady(found):
    """The worst movement over the last six cycles, and whose: of a mean as a share of it (of 1 V or 1 mA where there is less), of the crest of a current as
    a twentieth of its share."""
    worst, whose = 0.0, ""
    for name, f in found.items():
        floor = 1.0 if name.startswith("net ") else 1e-3
        moved = spread(f["means"]) / max(abs(f["means"][-1]), f["ac_rms"], floor)
        if name.startswith("current "):
            moved = max(moved, 0.05 * spread(f["crests"]) / max(abs(f["crests"][-1]), 1e-5))
        if moved > worst:
            worst, whose = moved, name
    return worst, whose


def spread(cycles):
    return max(cycles[-6:]) - min(cycles[-6:])


def plant(sheet, text):
    target, factor = text.split("=")
    element, constant = target.rsplit(":", 1)
    for e in sheet["elements"]:
        if e["id"] == element and constant in e["values"]:
            e["values"][constant] *= float(factor)
            return
    raise NoComparison(f"nothing to plant {text} in")


class Tally:
    def __init__(self, title, loud):
        self.title, self.loud, self.rows, self.bad = title, loud, 0, 0
        self.worst = {}

    def hold(self, what, ours, theirs, share, floor):
        self.rows += 1
        off = abs(ours - theirs)
        relative = off / max(abs(theirs), 1e-12)
        within = off <= max(share * abs(theirs), floor)
        kind = what.split(" ")[0]
        if off > floor and relative > self.worst.get(kind, (0, ""))[0]:
            self.worst[kind] = (relative, what)
        if not within:
            self.bad += 1
        if not within or self.loud:
            print(f"  {'ok  ' if within else 'OFF '} {what}: {ours:.6g} here, {theirs:.6g} there ({100 * relative:.2f} %)")


def compare(program, file, scenario, options):
    sheet = read_sheet(ask(program, "model", file), scenario)
    answer = ask(program, "volts", file, "--scenario", scenario)
    hertz = next(c["line_hertz"] for c in answer["conditions"] if c["scenario"] == scenario)
    rows = {r["net"]: r for r in answer["rows"] if r["scenario"] == scenario and r.get("net") and r["dc_volts"] is not None}
    branches = {(b["part"], b["lead"]): b for b in answer["branches"] if b.get("scenario", scenario) == scenario}
    for text in options.plant:
        plant(sheet, text)
    starts = {name: r["dc_volts"] for name, r in rows.items()}

    def run_from(seconds, share, finer):
        net = rebuild.netlist(sheet, scenario, starts, share, hertz)
        vectors = {f"net {name}": f"v({net.nodes[name]})" for name in rows if net.nodes.get(name, "0") != "0"}
        vectors |= {f"current {e} {k}": vector for (e, k), vector in net.currents.items()}
        vectors |= {f"heater {e}": vector for e, vector in net.heaters.items()}
        return net, engine(net, vectors, hertz, seconds, finer * options.step, options)

    driven = scenario.startswith("signal-peak")
    for seconds, share, finer in DRIVEN if driven else ATTEMPTS:
        net, found = run_from(seconds, share, finer)
        moved, whose = unsteady(found)
        if moved <= (DRIVEN_STEADY if driven else STEADY):
            break
    else:
        raise NoComparison(f"not steady after {seconds} s: {whose} still moves by {moved:.2g}")

    tally = Tally(f"{Path(file).name} {scenario}", options.loud)
    print(f"{tally.title}: reference steady to {moved:.1e} after {seconds} s from {share:g} of the answer")
    for name, r in rows.items():
        there = found.get(f"net {name}")
        if there is None:
            continue
        tally.hold(f"volts {name}", r["dc_volts"], there["means"][-1], 0.005, 0.02 if driven else 0.005)  # such a grid creeps
        tally.hold(f"ripple {name}", r["ripple_volts_pp"], there["high"] - there["low"], 0.02, 0.005)
    if share == 1.0 and CLIMB and not driven:
        _, climbed = run_from(*CLIMB)
        print(f"  and from {CLIMB[1]:g} of the answer in {CLIMB[0]} s")
        for name, r in rows.items():
            if f"net {name}" in climbed and abs(r["dc_volts"]) > 1:
                tally.hold(f"climbed {name}", r["dc_volts"], climbed[f"net {name}"]["means"][-1], 0.005, 0.005)
    windings = plates = heaters = 0
    for name in net.heaters:
        values = rebuild.in_scenario(sheet, scenario)[name]["values"]
        if values["ohms"] > OPEN * values["rated_volts"] / values["rated_amps"]:
            continue  # pulled with its tube
        heaters += 1
        tally.hold(f"ohms {name}", values["ohms"], rebuild.heater_ohms(values, found[f"heater {name}"]["rms"]), 0.01, 1e-6)
    # behind contacts a current leaps, and its crest is what one step makes of the leap
    peak_share = 0.06 if any(e["kind"] == "contact" for e in sheet["elements"]) else 0.02
    names, net_of_pin = winding_names(file), {pin: name for name, r in rows.items() for pin in r["pins"]}
    for (element, k), _ in net.currents.items():
        there, e = found[f"current {element} {k}"], sheet["by_id"][element]
        if e["kind"] == "transformer" and k <= len(names.get(e["part"], [])):
            lead = names[e["part"]][k - 1]
            windings += 1
            tally.hold(f"rms {e['part']}.{lead}", branches[e["part"], lead]["rms_amps"], there["rms"], 0.02, 1e-4)
        elif e["law"] == "dry-rectifier":
            plates += 1
            tally.hold(f"peak {e['part']}", branches[e["part"], "anode"]["peak_amps"], max(there["high"], -there["low"]), 0.02, 1e-4)
        elif e["law"] in ("vacuum-diode", "gas-diode") and k == 0:
            plate = [b for (part, lead), b in branches.items()
                     if part == e["part"] and lead.startswith("p") and net_of_pin.get(f"{part}.{lead.split('.')[-1]}") == e["nodes"][0]]
            if len(plate) != 1:
                raise NoComparison(f"{len(plate)} plates of {e['part']} on {e['nodes'][0]}")
            plates += 1
            tally.hold(f"peak {e['part']}.{plate[0]['lead']}", plate[0]["peak_amps"], max(there["high"], -there["low"]), peak_share, 1e-4)
    power = any(t.get("role") in ("power", "vibrator") for t in ElementTree.parse(file).getroot().iter("transformer"))
    if windings < (4 if power else 2) or plates < (2 if power else 1) or heaters < 2 or len(rows) < 8:
        raise NoComparison(f"too little to compare: {len(rows)} nets, {windings} windings, {plates} rectifier plates, {heaters} heaters")
    for kind, (relative, what) in sorted(tally.worst.items()):
        print(f"  worst {kind}: {100 * relative:.3f} % ({what})")
    print(f"  {tally.rows - tally.bad} of {tally.rows} within")
    return tally.bad


def read_sheet(answer, scenario=""):
    """The model's answer as rebuild.py wants it, with the elements that a signal brings where there is one."""
    rows, nodes = answer["rows"], answer["nodes"]
    if scenario.startswith("signal-peak"):
        driven = {row["id"]: row for row in answer["signal_rows"]}
        rows = [driven.pop(row["id"], row) for row in rows] + list(driven.values())
        nodes = nodes + answer["signal_nodes"]
    elements = [{key: row[key] for key in ("id", "part", "kind", "law", "nodes")} | {"values": dict(row["values"])} for row in rows]
    return {"nodes": nodes, "elements": elements, "by_id": {e["id"]: e for e in elements}, "changes": answer["changes"]}


def sound(file):
    """A copy without what was seen: parts that a finding left hanging by insulation alone are no test of a solver."""
    tree = ElementTree.parse(file)
    for element in tree.getroot().iter():
        element.attrib.pop("seen", None)
    copy = Path(tempfile.mkdtemp()) / Path(file).name
    tree.write(copy, encoding="utf-8", xml_declaration=True)
    return str(copy)


def winding_names(file):
    """What `volts` calls the windings of each transformer, in the order of the sheet: the primary first, then as they stand in the file; a tapped
    winding is two."""
    found = {}
    for transformer in ElementTree.parse(file).getroot().iter("transformer"):
        windings = sorted(transformer.iter("winding"), key=lambda w: w.get("role") != "primary")
        names = []
        for winding in windings:
            name, halves = winding.get("name") or winding.get("role"), len(winding.get("leads").split()) - 1
            names += [name] if halves == 1 else [f"{name}.{half + 1}" for half in range(halves)]
        found[transformer.get("id")] = names
    return found


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("files", nargs="+")
    parser.add_argument("--program", required=True)
    parser.add_argument("--scenario", action="append", help="normal, warm-up, high-line when none is given")
    parser.add_argument("--step", type=float, default=2e-5)
    parser.add_argument("--reltol", type=float, default=1e-4)
    parser.add_argument("--limit", type=float, default=240, help="seconds for one run of the reference engine")
    parser.add_argument("--plant", action="append", default=[], metavar="ID:CONSTANT=FACTOR")
    parser.add_argument("--loud", action="store_true", help="every row")
    parser.add_argument("--sound", action="store_true", help="the set as it was made: what was seen of its parts is left out")
    options = parser.parse_args()
    bad = none = 0
    for file in options.files:
        if options.sound:
            file = sound(file)
        for scenario in options.scenario or ["normal", "warm-up", "high-line"]:
            try:
                bad += compare(options.program, file, scenario, options)
            except NoComparison as why:
                print(f"{Path(file).name} {scenario}: NO COMPARISON: {why}")
                none += 1
    return 2 if none else (1 if bad else 0)


if __name__ == "__main__":
    sys.exit(main())
