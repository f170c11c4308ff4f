#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""What the README shows of the program is what the program prints. A block of output stands below a line such as

    <!-- shown: threats netlists/s1-quarry-hill.xml | BY CURRENT | 12 -->

the command, a piece of the first line that is shown, and how many lines. The year is held where it stood when they were made, as in
tests/approved: parts age, and what is shown must not expire. Without options the blocks are compared, with --write they are made anew.
"""

import argparse
import re
import subprocess
import sys
from pathlib import Path

YEAR = "year=2026"
ROOT = Path(__file__).resolve().parents[2]
BLOCK = re.compile(r"(<!-- shown: ([^|]+) \| ([^|]+) \| (\d+) -->\n```text\n)(.*?)(```\n)", re.S)


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--program", required=True)
    parser.add_argument("--write", action="store_true")
    options = parser.parse_args()
    readme, seen, stale = ROOT / "README.md", 0, 0

    def made_anew(match):
        nonlocal seen, stale
        head, command, first, count, shown, tail = match.groups()
        run = subprocess.run([options.program, *command.split(), "--assume", YEAR], cwd=ROOT, capture_output=True, text=True, check=False)
        if run.returncode not in (0, 1):
            sys.exit(f"{command}: exit status {run.returncode}: {run.stderr}")
        lines = run.stdout.split("\n")
        start = next((k for k, line in enumerate(lines) if first in line), None)
        if start is None:
            sys.exit(f"{command}: no line holds '{first}'")
        fresh = "\n".join(lines[start:start + int(count)]).rstrip("\n") + "\n"
        seen += 1
        if fresh != shown:
            stale += 1
            if not options.write:
                print(f"README.md, {command}: shown\n{shown}\nprinted\n{fresh}")
        return head + fresh + tail

    text = readme.read_text(encoding="utf-8")
    fresh = BLOCK.sub(made_anew, text)
    if options.write:
        readme.write_text(fresh, encoding="utf-8")
    if seen < 3 or seen != text.count("<!-- shown: "):
        sys.exit(f"{seen} blocks of output found in the README, at least 3 and all of them wanted")
    print(f"{seen} blocks, {stale} stale")
    return 1 if stale and not options.write else 0


if __name__ == "__main__":
    sys.exit(main())
