#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Good and bad files through xmllint and the schema: every good file is valid, every faulty one is refused where a schema can
know its fault. files.csv says which; tests/netlist/bad_files_test.cpp puts the same files to the reader. Run: schema_test.py XMLLINT"""

import csv
import subprocess
import sys
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[1]


def accepts(xmllint, path):
    run = subprocess.run([xmllint, "--noout", "--nonet", "--schema", str(ROOT / "netlists" / "chassis.xsd"), str(path)],
                         capture_output=True, check=False)
    if run.returncode not in (0, 1, 3, 4):  # not well formed 1, invalid 3 or 4; 5 and more: the schema itself
        sys.exit(f"xmllint ends with {run.returncode} at {path.name}: {run.stderr.decode(errors='replace')}")
    return run.returncode == 0


def main():
    xmllint = sys.argv[1]
    problems = []
    with open(HERE / "files.csv", encoding="utf-8", newline="") as file:
        expected = {row["file"]: row["schema"] for row in csv.DictReader(file)}
    found = {path.name for path in HERE.glob("*.xml")}
    problems += [f"{name} does not stand in files.csv" for name in sorted(found - set(expected))]
    problems += [f"files.csv names {name}, which is not there" for name in sorted(set(expected) - found)]
    refused = 0
    for name in sorted(found & set(expected)):
        says = "accepts" if accepts(xmllint, HERE / name) else "refuses"
        refused += says == "refuses"
        if says != expected[name]:
            problems.append(f"{name}: the schema {says} it, files.csv says {expected[name]}")
    good = sorted((ROOT / "netlists").glob("*.xml")) + sorted((ROOT / "tests" / "netlist" / "good").glob("*.xml"))
    problems += [f"{path.name} is good, and the schema refuses it" for path in good if not accepts(xmllint, path)]
    if not good or refused < 40:
        problems.append(f"too few files: {len(good)} good, {refused} refused")
    for problem in problems:
        print(problem)
    print(f"schema: {len(good)} good files, {refused} faulty ones refused, {len(found) - refused} that only the reader refuses, "
          f"{len(problems)} problem(s)")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
