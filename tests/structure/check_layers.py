#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The structure of the tree, held by machine.

One table, libplanner/layers.csv, says which module stands on which layer, which outside libraries it may see and which
public headers it owns. This script reads the real #include lines and the real files and prints one line for each breach,
"file:line: what is wrong"; it exits 1 when there is any. Example:

    tests/structure/check_layers.py --root . --check layers --check headers

check_layers_test.py shows that each check can fail.
"""

import argparse
import csv
import os
import re
import subprocess
import sys
from pathlib import Path

SKIPPED_FOLDERS = {"build", ".git", "__pycache__", ".cache"}
SOURCE_ENDS = {".cpp", ".hpp", ".h", ".c"}
BANNED_NAMES = {"util", "utils", "utility", "utilities", "helper", "helpers", "common", "base", "misc", "manager", "managers",
                "stuff", "tools"}
MOST_PUBLIC_HEADERS = 20
MOST_HEADER_LINES = 220  # "about 200"

# Headers of outside libraries, by how their names begin.
OUTSIDE = [("fmt/", "fmt"), ("klu.h", "klu"), ("klu", "klu"), ("suitesparse/", "klu"), ("btf.h", "klu"), ("amd.h", "klu"),
           ("Eigen/", "eigen"), ("boost/", "boost"), ("pugixml", "pugixml"), ("nlohmann/", "json"), ("CLI/", "cli11"),
           ("sqlite3.h", "sqlite")]
# Headers of the system, not of C++: for the program and the tests.
SYSTEM = {"unistd.h", "fcntl.h", "sys/wait.h", "sys/types.h", "sys/stat.h", "sys/time.h", "sys/resource.h", "signal.h", "poll.h", "spawn.h",
          "sys/ioctl.h", "dlfcn.h", "cerrno", "errno.h"}
# And for the library, where __has_include asks for it first.
ASKED_FOR = {"sys/mman.h"}
UMBRELLA = "tubewright.hpp"


class Table:
    """layers.csv: layer, libraries and public headers of each module."""

    def __init__(self, root):
        self.layer, self.libraries, self.owner = {}, {}, {}
        with open(root / "libplanner" / "layers.csv", newline="", encoding="utf-8") as rows:
            for row in csv.DictReader(rows):
                module = row["module"]
                self.layer[module] = int(row["layer"])
                self.libraries[module] = set(row["libraries"].split())
                for header in row["headers"].split():
                    self.owner[header] = module


def files_of(root):
    """Every file of the tree, in order, without build folders."""
    found = []
    for folder, folders, names in os.walk(root):
        folders[:] = sorted(d for d in folders if d not in SKIPPED_FOLDERS)
        for name in sorted(names):
            path = Path(folder) / name
            if path.is_file() and not name.endswith((".bench.db", ".pyc", ".o")):
                found.append(path)
    return found


def text_of(path):
    return path.read_text(encoding="utf-8", errors="replace") if path.is_file() else ""


def includes_of(path):
    """(line number, name, quoted) of each #include."""
    for number, line in enumerate(text_of(path).split("\n"), 1):
        match = re.match(r'\s*#\s*include\s+(?:"([^"]+)"|<([^>]+)>)', line)
        if match:
            yield number, match.group(1) or match.group(2), match.group(1) is not None


def is_standard(name):
    return "." not in name and "/" not in name


def at(root, path, line, message):
    return f"{path.relative_to(root)}:{line}: {message}"


def place_of(root, path):
    """("library", module), ("public", module), ("cli", "cli"), ("test", folder) or ("example", "")."""
    parts = path.relative_to(root).parts
    if parts[0] == "libplanner" and len(parts) > 2:
        if parts[1] == "include":
            return "public", parts[-1]
        return "library", parts[1]
    if parts[0] == "cli":
        return "cli", "cli"
    if parts[0] == "tests" and len(parts) > 2:
        return "test", parts[1]
    return "example", ""


def included_module(table, name, path):
    """The module that an include reaches, or None when it reaches none (own file, standard, outside)."""
    if name.startswith("tubewright/"):
        return table.owner.get(name[len("tubewright/"):])
    first = name.split("/")[0]
    return first if "/" in name and first in table.layer else None


def check_layers(root, table):
    """A module includes only lower modules; outside libraries only where the table allows them."""
    problems = []
    for path in files_of(root):
        if path.suffix not in SOURCE_ENDS:
            continue
        kind, who = place_of(root, path)
        if kind == "library" and who not in table.layer and who != "cmake":
            problems.append(at(root, path, 1, f"the module {who} does not stand in layers.csv"))
            continue
        module = table.owner.get(who) if kind == "public" else who
        if kind == "public" and who not in (UMBRELLA,) and module is None:
            problems.append(at(root, path, 1, f"layers.csv names no module for the public header {who}"))
            continue
        for number, name, quoted in includes_of(path):
            reached = included_module(table, name, path)
            if name == "tubewright/" + UMBRELLA and kind in ("library", "public"):
                problems.append(at(root, path, number, "the umbrella header is for users of the library"))
            if name.startswith("tubewright/") and name[len("tubewright/"):] not in (UMBRELLA,) and reached is None:
                problems.append(at(root, path, number, f"layers.csv names no module for <{name}>"))
            if kind in ("library", "cli") or (kind == "public" and who not in (UMBRELLA,)) or (kind == "test" and module in table.layer):
                problems += judge_module(root, path, number, name, module, reached, table, kind)
            library = next((lib for start, lib in OUTSIDE if name.startswith(start)), None)
            if kind == "public":
                if not (is_standard(name) or name.startswith("tubewright/")):
                    problems.append(at(root, path, number, f"a public header shows no outside type: <{name}>"))
            elif library and module in table.layer and library not in table.libraries[module]:
                problems.append(at(root, path, number, f"{module} may not see the library {library} (layers.csv)"))
            elif kind in ("library", "cli") and not library and reached is None and not quoted and not is_standard(name):
                if name not in ASKED_FOR and not (name in SYSTEM and kind == "cli") and not name.startswith("tubewright/"):
                    problems.append(at(root, path, number, f"<{name}> is neither standard, ours nor a library of the table"))
    return problems


def judge_module(root, path, number, name, module, reached, table, kind):
    if reached is None or reached == module:
        return []
    if table.layer[reached] >= table.layer[module]:
        return [at(root, path, number,
                   f"{module} (layer {table.layer[module]}) may not include {name}: {reached} is on layer {table.layer[reached]}")]
    if reached == "netlist" and kind in ("library", "public"):
        return [at(root, path, number, "only the program, the tests and the examples read files: netlist is not for modules")]
    return []


def check_headers(root, table):
    """At most twenty public headers of about two hundred lines, each compiling by itself."""
    problems = []
    folder = root / "libplanner" / "include" / "tubewright"
    headers = sorted(folder.glob("*.hpp"))
    if not headers:
        problems.append(f"{folder}: no public header")
    if len(headers) > MOST_PUBLIC_HEADERS:
        problems.append(f"{folder.relative_to(root)}: {len(headers)} public headers, at most {MOST_PUBLIC_HEADERS}")
    compiler = os.environ.get("CXX", "c++")
    for header in headers:
        lines = text_of(header).count("\n")
        if lines > MOST_HEADER_LINES:
            problems.append(at(root, header, lines, f"{lines} lines, at most {MOST_HEADER_LINES}"))
        if "#pragma once" not in text_of(header):
            problems.append(at(root, header, 1, "no #pragma once"))
        if header.name not in (UMBRELLA,) and f"<tubewright/{header.name}>" not in text_of(folder / UMBRELLA):
            problems.append(at(root, header, 1, f"{UMBRELLA} does not include it"))
        run = subprocess.run([compiler, "-std=c++20", "-fsyntax-only", "-Wall", "-Wextra", "-Wpedantic", "-Wshadow", "-Werror", "-I",
                              str(folder.parent), "-x", "c++", "-"], input=f"#include <tubewright/{header.name}>\n",
                             capture_output=True, text=True, check=False)
        if run.returncode != 0:
            first = next((x for x in run.stderr.split("\n") if "error" in x), run.stderr[:200])
            problems.append(at(root, header, 1, "does not compile by itself: " + first.strip()))
    return problems


def check_names(root, table):
    """No drawer for odds and ends; files and folders in snake case."""
    problems = []
    for path in files_of(root):
        parts = path.relative_to(root).parts
        if parts[:2] == ("tests", "bad"):  # named after what is wrong in them, in whole sentences
            continue
        for part in parts:
            words = set(re.split(r"[_\-. ]", part.lower()))
            if words & BANNED_NAMES:
                problems.append(at(root, path, 1, f"the name {part} says nothing: give it a trade name"))
        if path.suffix in SOURCE_ENDS and not re.fullmatch(r"[a-z0-9_]+", path.stem):
            problems.append(at(root, path, 1, "file names are in snake case"))
    return problems


# Files that cannot carry a comment, or that are the licence.
NO_SPDX_ENDS = {".csv", ".json", ".txt", ".svg", ".png", ".bad"}
NO_SPDX_NAMES = {"LICENSE", ".clang-format", ".clang-tidy", ".editorconfig", ".gitignore", ".gitattributes"}


def check_licence(root, table):
    """An SPDX line within the first three lines of every file that can carry one; C++ files in the first."""
    problems = []
    for path in files_of(root):
        parts = path.relative_to(root).parts
        if path.name in NO_SPDX_NAMES or path.suffix in NO_SPDX_ENDS or parts[:2] in (("tests", "bad"), ("tests", "fuzz"), ("tests", "approved")):
            continue
        lines = text_of(path).split("\n")[:3]
        wanted = "CC0-1.0" if parts[0] == "netlists" else ("MIT", "CC0-1.0")
        first = lines[:1] if path.suffix in SOURCE_ENDS else lines
        found = [x for x in first if "SPDX-License-Identifier:" in x]
        if not found:
            problems.append(at(root, path, 1, "no SPDX line at its head"))
        elif not any(x in found[0] for x in ([wanted] if isinstance(wanted, str) else wanted)):
            problems.append(at(root, path, 1, f"the licence here is {wanted}"))
    return problems


def message_numbers(root):
    """(name, number, path, line) from the files that give numbers: numbers.hpp of each module."""
    found = []
    for path in sorted((root / "libplanner").glob("*/numbers.hpp")):
        for number, line in enumerate(text_of(path).split("\n"), 1):
            match = re.search(r"constexpr\s+int\s+(\w+)\s*=\s*(\d+)\s*;", line)
            if match:
                found.append((match.group(1), int(match.group(2)), path, number))
    return found


def check_messages(root, table):
    """Message numbers are given in numbers.hpp of a module, once in the tree, and DEVELOPERS.md lists each with its name."""
    problems = []
    found = message_numbers(root)
    if not found:
        return ["libplanner: no message number"]
    listed = {}
    for match in re.finditer(r"^\|\s*TW(\d{4})\s*\|\s*`?(\w+)`?\s*\|", text_of(root / "DEVELOPERS.md"), re.M):
        if match.group(1) in listed:
            problems.append(f"DEVELOPERS.md:1: TW{match.group(1)} is listed twice")
        listed[match.group(1)] = match.group(2)
    seen = {}
    for name, number, path, line in found:
        if number in seen:
            problems.append(at(root, path, line, f"{name} and {seen[number]} share the number {number}"))
        seen[number] = name
        key = f"{number:04}"
        if key not in listed:
            problems.append(at(root, path, line, f"TW{key} ({name}) does not stand in the message list of DEVELOPERS.md"))
        elif listed[key] != name:
            problems.append(at(root, path, line, f"DEVELOPERS.md calls TW{key} {listed[key]}, the code {name}"))
    for key, name in listed.items():
        if int(key) not in seen:
            problems.append(f"DEVELOPERS.md:1: TW{key} ({name}) is listed, but no code has it; numbers are append-only")
    for other in files_of(root):
        if other.suffix not in SOURCE_ENDS or other.name == "numbers.hpp":
            continue
        for number, line in enumerate(text_of(other).split("\n"), 1):
            code = line.split("//")[0]
            if re.search(r"\bnumber\s*=\s*[1-9]\d{3}\b|\bNotice\b[^;(]*\{\s*[1-9]\d{3}\s*,", code) and place_of(root, other)[0] in ("library", "cli"):
                problems.append(at(root, other, number, "a message number written out: take it from the numbers.hpp of the module"))
            for match in re.finditer(r"\bTW(\d{4})\b", line):
                if int(match.group(1)) not in seen:
                    problems.append(at(root, other, number, f"TW{match.group(1)} is no message number"))
    return problems


# Signs of unfinished work, joined here so that this file does not hold them; and places that exist on one machine only.
UNFINISHED = ["TO" + "DO", "FIX" + "ME", "XX" + "X", "place" + "holder", "not yet " + "implemented", "HA" + "CK"]
SYSTEM_PLACES = ("/usr/", "/bin/", "/dev/", "/etc/", "/proc/", "/var/lib/")
BANNED_CODE = [(r"\bstd::views\b", "std::views does not compile with clang 14"), (r"#\s*include\s*<format>", "g++ 12 has no <format>"),
               (r"\bstd::source_location\b", "clang 14 has no std::source_location"), (r"\bstrtod\s*\(", "strtod obeys the locale"),
               (r"\b(?:std::)?ato[fi]\s*\(", "atof and atoi hide errors"), (r"\bstd::sto[df]\s*\(", "std::stod obeys the locale"),
               (r"\b__(?:DATE|TIME)__\b", "a build must be reproducible")]


def check_words(root, table):
    """No sign of unfinished work, no path of one machine, no call that the tree has banned."""
    problems = []
    word = re.compile(r"\b(" + "|".join(UNFINISHED) + r")\b")
    place = re.compile(r"(?<![\w.}\"'$)<*/:-])/(?:home|root|tmp|work|mnt|opt|srv|Users)(?:/[\w.-]+)+")
    own = Path(__file__).name
    for path in files_of(root):
        if path.suffix in {".png", ".gz"} or path.name in (own, own.replace(".py", "_test.py")):
            continue
        for number, line in enumerate(text_of(path).split("\n"), 1):
            if word.search(line):
                problems.append(at(root, path, number, f"a sign of unfinished work: {word.search(line).group(0)}"))
            hit = place.search(line)
            if hit and not hit.group(0).startswith(SYSTEM_PLACES):
                problems.append(at(root, path, number, f"a path of one machine: {hit.group(0)}"))
            if path.suffix in SOURCE_ENDS and path.relative_to(root).parts[0] in ("libplanner", "cli"):
                code = line.split("//")[0]
                for pattern, why in BANNED_CODE:
                    if re.search(pattern, code):
                        problems.append(at(root, path, number, why))
    return problems


TOP_LEVEL = {"CMakeLists.txt", "README.md", "DEVELOPERS.md", "libplanner", "cli", "netlists", "tests", "examples", ".ci", ".clang-format", ".clang-tidy",
             ".editorconfig", ".gitignore", ".gitattributes", "LICENSE", "CHANGELOG.md", "CMakePresets.json", ".git", "build"}


def check_top(root, table):
    """Nothing at the top but what belongs there, and a contract at the head of every file of ours."""
    problems = []
    for path in sorted(root.iterdir()):
        if path.name not in TOP_LEVEL:
            problems.append(f"{path.name}: does not belong at the top of the tree")
    for path in files_of(root):
        if path.suffix in {".cpp", ".hpp"} and path.relative_to(root).parts[0] in ("libplanner", "cli"):
            lines = text_of(path).split("\n")
            if len(lines) < 2 or not lines[1].startswith("//"):
                # A .cpp beside a header of its name keeps its contract there.
                if not (path.suffix == ".cpp" and beside(root, path)):
                    problems.append(at(root, path, 2, "no contract: say in the first lines what the file is for"))
    return problems


def beside(root, path):
    return path.with_suffix(".hpp").exists() or (root / "libplanner" / "include" / "tubewright" / (path.stem + ".hpp")).exists()


CHECKS = {"layers": check_layers, "headers": check_headers, "names": check_names, "licence": check_licence, "messages": check_messages,
          "words": check_words, "top": check_top}


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    parser.add_argument("--root", type=Path, default=Path(__file__).resolve().parents[2])
    parser.add_argument("--check", action="append", choices=sorted(CHECKS), help="one check only; may be given again")
    options = parser.parse_args()
    root = options.root.resolve()
    table = Table(root)
    problems = []
    for name in options.check or CHECKS:
        problems += CHECKS[name](root, table)
    for problem in problems:
        print(problem)
    print(f"structure: {len(problems)} breach(es)")
    return 1 if problems else 0


if __name__ == "__main__":
    sys.exit(main())
