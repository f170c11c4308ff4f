#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The readings of power-up stages against another engine: what `tubewright powerup` expects at each point of a stage at full line is read off the same
equations, rebuilt from `tubewright model` and run by libngspice (compare.py). Volts, alternating and direct, within 2 % or 20 mV; what a meter of 10 megohm takes
off is taken off there by the source ohms that `volts` gives.

    tests/oracle/stages.py --program build/dev/cli/tubewright netlists/s9-bellows-court.xml
"""

import argparse
import sys
from pathlib import Path

import compare
import rebuild

SHARE, FLOOR = 0.02, 0.02
SCENARIOS = {"transformer alone, full line, watched": "transformer-alone", "heaters, full line": "rectifier-out", "full line": "normal"}


def pins(sheet_rows):
    """Net by every name that a reading may call it."""
    found = {}
    for row in sheet_rows:
        if row.get("net"):
            found[row["net"]] = row["net"]
            for pin in row["pins"]:
                found[pin] = row["net"]
    return found


def stage_readings(stage):
    for r in stage["readings"]:
        if r["quantity"] not in ("volts dc", "volts ac") or r["when"] not in (None, "after the tubes are warm") or r["to"] is None:
            continue
        expect = r["expect_volts_rms" if r["quantity"] == "volts ac" else "expect_volts"]
        if expect is not None:
            yield r["at"], r["to"], r["quantity"], expect


def hold_stage(program, file, stage, options):
    scenario = SCENARIOS[stage["name"]]
    sheet = compare.read_sheet(compare.ask(program, "model", file))
    answer = compare.ask(program, "volts", file, "--scenario", scenario, "--all")
    hertz = next(c["line_hertz"] for c in answer["conditions"] if c["scenario"] == scenario)
    rows = {r["net"]: r for r in answer["rows"] if r["scenario"] == scenario and r.get("net") and r["dc_volts"] is not None}
    for text in options.plant:
        compare.plant(sheet, text)
    name_of = pins(rows.values())
    starts = {name: r["dc_volts"] for name, r in rows.items()}
    wanted = [(at, to, q, v) for at, to, q, v in stage_readings(stage)]

    def run_from(seconds, share, finer):
        net = rebuild.netlist(sheet, scenario, starts, share, hertz)
        vectors = {f"net {name}": f"v({net.nodes[name]})" for name in rows if net.nodes.get(name, "0") != "0"}
        for k, (at, to, _, _) in enumerate(wanted):
            ends = [net.nodes.get(name_of.get(x, x), "0") for x in (at, to)]
            net.lines += [f"est{k} st{k} 0 {ends[0]} {ends[1]} 1", f"rst{k} st{k} 0 1e9"]
            vectors[f"reading {k}"] = f"v(st{k})"
        return compare.engine(net, vectors, hertz, seconds, finer * options.step, options)

    for seconds, share, finer in compare.ATTEMPTS:
        found = run_from(seconds, share, finer)
        moved, whose = compare.unsteady({n: f for n, f in found.items() if n.startswith("net ")})
        if moved <= compare.STEADY:
            break
    else:
        raise compare.NoComparison(f"not steady after {seconds} s: {whose} still moves by {moved:.2g}")
    tally = compare.Tally(f"{Path(file).name} {stage['name']}", options.loud)
    print(f"{tally.title}: reference steady to {moved:.1e}")
    for k, (at, to, quantity, expect) in enumerate(wanted):
        there, row = found[f"reading {k}"], rows.get(name_of.get(at, at), {})
        value = there["ac_rms"] if quantity == "volts ac" else there["means"][-1]
        if quantity == "volts dc" and row.get("meter_volts") is not None and row["dc_volts"]:
            value *= row["meter_volts"] / row["dc_volts"]
        tally.hold(f"{'volts' if quantity == 'volts dc' else 'alternating'} {at} to {to}", expect, value, SHARE, FLOOR)
    for kind, (relative, what) in sorted(tally.worst.items()):
        print(f"  worst {kind}: {100 * relative:.3f} % ({what})")
    print(f"  {tally.rows - tally.bad} of {tally.rows} within")
    return tally.rows, tally.bad


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("file")
    parser.add_argument("--program", required=True)
    parser.add_argument("--stage", action="append", help="by name; all three when none is given")
    parser.add_argument("--least", type=int, default=1, help="stages that must have been held")
    parser.add_argument("--step", type=float, default=2e-5)
    parser.add_argument("--reltol", type=float, default=1e-4)
    parser.add_argument("--limit", type=float, default=240)
    parser.add_argument("--plant", action="append", default=[])
    parser.add_argument("--loud", action="store_true")
    parser.add_argument("--sound", action="store_true", help="the set as it was made: what was seen of its parts is left out")
    options = parser.parse_args()
    file = compare.sound(options.file) if options.sound else options.file
    held = bad = 0
    try:
        for stage in compare.ask(options.program, "powerup", file, limit=600)["rows"]:
            if stage["name"] not in SCENARIOS or (options.stage and stage["name"] not in options.stage):
                continue
            rows, off = hold_stage(options.program, file, stage, options)
            if rows == 0:
                raise compare.NoComparison(f"{stage['name']}: no reading to hold")
            held, bad = held + 1, bad + off
    except compare.NoComparison as why:
        print(f"{Path(file).name}: NO COMPARISON: {why}")
        return 2
    if held < options.least:
        print(f"{held} stages held, {options.least} wanted")
        return 2
    return 1 if bad else 0


if __name__ == "__main__":
    sys.exit(main())
