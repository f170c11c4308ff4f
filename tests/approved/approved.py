#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Whole answers of the program against approved ones: the text of every command for every demo set, and the keys of its JSON.

    approved.py check PROGRAM            compare; the differences are printed, exit status 1 when there are any
    approved.py accept PROGRAM [NAME..]  take what the program prints now (all, or the names given, such as s9/volts.txt);
                                         then read the change with git diff before it is committed

An approved text is compared byte for byte. Of the JSON the keys are kept (rows[].dc_volts: number), not the figures: they are a
contract with other programs, and the tests of the modules hold the figures. Ages are counted to a fixed year. While nothing is
approved at all the check is skipped (77); with the first approved file every one of them must be there.
"""
import difflib
import json
import pathlib
import shutil
import subprocess
import sys
import tempfile

HERE = pathlib.Path(__file__).resolve().parent
ROOT = HERE.parents[1]
COMMANDS = ["audit", "survey", "volts", "stress", "threats", "steps", "powerup", "shop", "model"]
SOLVED = ("s1", "s9")
YEAR = "year=2026"
TUBES = ["42", "12AX7", "6A7", "80"]


def sets():
    """Short name and path of every demo set."""
    return [(path.name.split("-")[0], path.relative_to(ROOT)) for path in sorted((ROOT / "netlists").glob("s*.xml"))]


# What another eye found in the first demo set: a lead on another pin, a capacitor turned, a value, a lamp wire on another lug.
FOUND = [('a="V3.2" b="V4.4"', 'a="V3.2" b="V4.5"'), ('plus="bplus" minus="gnd"', 'plus="gnd" minus="bplus"'),
         ('value="250M"', 'value="500M"'), ('<wire id="W6" from="heaters" to="lamps"', '<wire id="W6" from="heaters" to="TS1.3"')]


def found():
    """The first demo set as found."""
    text = next(ROOT / path for short, path in sets() if short == "s1").read_text(encoding="utf-8")
    for old, new in FOUND:
        if old not in text:
            raise SystemExit(f"no longer in the first demo set: {old}")
        text = text.replace(old, new, 1)
    return text


def run(program, arguments, text="", place=ROOT):
    """What the program prints; its exit status must be one that answers. `text` is its standard input."""
    done = subprocess.run([str(pathlib.Path(program).resolve()), *arguments], cwd=place, input=text.encode(), stdout=subprocess.PIPE, stderr=subprocess.PIPE, timeout=300, check=False)
    if done.returncode not in (0, 1, 4):
        raise SystemExit(f"{' '.join(arguments)}: exit status {done.returncode}: {done.stderr.decode(errors='replace')}")
    return done.stdout.decode()


def keys_of(value, path=""):
    """Every path of a JSON value with the kinds that stand there, sorted."""
    kinds = {}

    def walk(one, where):
        if isinstance(one, dict):
            for key, inner in one.items():
                # Names of parameters, tubes and values are data, not keys of the contract.
                walk(inner, f"{where}.{'*' if where.endswith(('parameters', 'values', 'sources')) else key}")
            return
        if isinstance(one, list):
            for inner in one:
                walk(inner, where + "[]")
            return
        kind = "null" if one is None else "yes or no" if isinstance(one, bool) else "number" if isinstance(one, (int, float)) else "text"
        kinds.setdefault(where, set()).add(kind)

    walk(value, path)
    return "".join(f"{where.lstrip('.')}: {' or '.join(sorted(kind))}\n" for where, kind in sorted(kinds.items()))


def answers(program, wanted=None):
    """Name and text of every answer (only the wanted names, when given)."""
    for short, path in sets():
        # Sets of families whose solution is not proved yet: what the audit says of them.
        for command in COMMANDS if short in SOLVED else ["audit"]:
            base = [command, str(path), "--assume", YEAR]
            for name, extra in ((f"{short}/{command}.txt", []), (f"{short}/{command}.keys", ["--format", "json"])):
                if wanted is None or name in wanted:
                    text = run(program, base + extra)
                    yield name, keys_of(json.loads(text)) if extra else text
    first = next(str(path) for short, path in sets() if short == "s1")
    for name, extra in (("s1/difference.txt", []), ("s1/difference.keys", ["--format", "json"])):
        if wanted is None or name in wanted:
            text = run(program, ["audit", first, "--against", "-", "--assume", YEAR, *extra], found())
            yield name, keys_of(json.loads(text)) if extra else text
    read = ["windings", first, "--line", "118", "--read", "plate=338-0-336", "--read", "heater=6.85@119V", "--read", "watts=3", "--in", "nothing"]
    for name, extra in (("s1/windings.txt", []), ("s1/windings.keys", ["--format", "json"])):
        if wanted is None or name in wanted:
            text = run(program, [*read, "--assume", YEAR, *extra])
            yield name, keys_of(json.loads(text)) if extra else text
    yield from logged(program, first, wanted)
    for tube in TUBES:
        name = f"tubes/{tube}.txt"
        if wanted is None or name in wanted:
            yield name, run(program, ["tube", tube])
    if wanted is None or "help.txt" in wanted:
        yield "help.txt", "".join(run(program, words) for words in [["--help"], *([command, "--help"] for command in [*COMMANDS, "windings", "log", "tube", "policy", "start", "sheet", "schema"])])


def logged(program, path, wanted):
    """The first demo set in the middle of its restoration: a log of fixed times, taken over into a place of its own."""
    with tempfile.TemporaryDirectory() as folder:
        shutil.copy(ROOT / path, pathlib.Path(folder) / "set.xml")
        run(program, ["log", "set.xml", "--import", str(HERE / "evening.txt")], place=folder)
        for command in ["log", "steps", "powerup", "volts", "shop"]:
            for name, extra in ((f"s1/{command}-logged.txt", []), (f"s1/{command}-logged.keys", ["--format", "json"])):
                if wanted is None or name in wanted:
                    text = run(program, [command, "set.xml", "--assume", YEAR, *extra], place=folder)
                    yield name, keys_of(json.loads(text)) if extra else text


def differences(name, approved, now):
    """A unified diff, empty when nothing changed."""
    return list(difflib.unified_diff(approved.splitlines(), now.splitlines(), f"approved {name}", f"now {name}", lineterm="", n=1))


def check(program):
    if not any(HERE.glob("*/*.txt")):
        print("nothing is approved yet: approved.py accept PROGRAM")
        return 77
    changed = 0
    for name, now in answers(program):
        path = HERE / name
        if not path.exists():
            print(f"{name}: never approved")
            changed += 1
            continue
        diff = differences(name, path.read_text(encoding="utf-8"), now)
        if diff:
            changed += 1
            print("\n".join(diff[:60]))
            if len(diff) > 60:
                print(f"... and {len(diff) - 60} more lines")
    print(f"{changed} answers differ from the approved ones" if changed else "every answer is as approved")
    return 1 if changed else 0


def accept(program, wanted):
    count = 0
    for name, now in answers(program, wanted or None):
        path = HERE / name
        path.parent.mkdir(exist_ok=True)
        path.write_text(now, encoding="utf-8")
        count += 1
    print(f"{count} answers taken; read the change with git diff")
    return 0 if count else 1


def main(words):
    if len(words) == 2 and words[0] == "check":
        return check(words[1])
    if len(words) >= 2 and words[0] == "accept":
        return accept(words[1], words[2:])
    print(__doc__)
    return 2


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
