#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The index of check values against the tests: each of its 80 rows names a test that carries its tag, or says why there
is none; no test carries a tag that the index does not know.

Marks: S a published standard or maker, H hobby or forum, C common practice, M memory, K computed.
"""
import csv
import pathlib
import re
import sys

ROWS = 80
MARKS = set("SHCMK")


def tagged(tests):
    """{row: {names of test cases}} of every tag [practice-N] in the tests."""
    found = {}
    for path in sorted(tests.rglob("*.cpp")):
        text = path.read_text(encoding="utf-8")
        for case in re.finditer(r'TEST_CASE\(\s*((?:"[^"]*"\s*)+),\s*((?:"[^"]*"\s*)+)\)', text):
            name = "".join(re.findall(r'"([^"]*)"', case.group(1)))
            for row in re.findall(r"\[practice-(\d+)\]", case.group(2)):
                found.setdefault(int(row), set()).add(name)
    return found


def check(index, found):
    """What is wrong with the index, in words."""
    wrong = []
    with index.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    if [int(row["row"]) for row in rows] != list(range(1, ROWS + 1)):
        wrong.append(f"the index does not have rows 1 to {ROWS}, each once and in order")
    for row in rows:
        number, held, why = int(row["row"]), row["held by"], row["why not"]
        if not all(row[field] for field in ("physics", "value", "tolerance", "mark")):
            wrong.append(f"row {number}: a field is empty")
        if not set(row["mark"].split("/")) <= MARKS:
            wrong.append(f"row {number}: mark '{row['mark']}'")
        if bool(held) == bool(why):
            wrong.append(f"row {number}: either a test or a reason, not both and not neither")
        if held and held not in found.get(number, set()):
            wrong.append(f"row {number}: no test '{held}' with the tag [practice-{number}]")
        if why and number in found:
            wrong.append(f"row {number}: a test carries its tag, and the index says that there is none")
    wrong += [f"a test carries [practice-{number}], which is no row" for number in found if not 1 <= number <= ROWS]
    return wrong


def main():
    here = pathlib.Path(__file__).resolve().parent
    found = tagged(here.parent)
    wrong = check(here / "index.csv", found)
    # the check itself: without the tests every covered row must be missed
    if not any("no test" in line for line in check(here / "index.csv", {})):
        wrong.append("the check does not see a missing test")
    for line in wrong:
        print(line)
    print(f"{len(found)} of {ROWS} rows are held by tests")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
