#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""Each rule of the bench changed by itself in a copy, and a test fails.

    change_one.py BUILD [--only H7,H8] [--where checker,table,planner]

checker: violations.cpp does not report the rule any more; table: its row turns from hard to soft or back; planner: step_list.cpp draws
no arrow for it. The changed file is compiled with the build's own command into a folder of its own and linked in the place of the
build's object; the sources and the build are left alone. A change that no test notices is printed; exit status 1 when there is one.
"""
import argparse
import pathlib
import re
import shlex
import subprocess
import sys
import tempfile

ROOT = pathlib.Path(__file__).resolve().parents[2]
HARD = [0, 1, 2, 3, 5, 6, 7, 8, 9, 11, 12, 13, 15, 17, 18, 19, 20, 21, 22, 23]
SOFT = [4, 10, 14, 16]
RULES = [f"H{n}" for n in HARD] + [f"s{n}" for n in SOFT]
NO_ARROW = {"H11"}  # the plug is pushed within one step, and H21 has that before power


def silent(text, rule):
    head = "void need(const std::string& rule, bool kept, const std::string& why) {"
    return text.replace(head, f'{head}\n        if (rule == "{rule}") return;', 1)


def other_kind(text, rule):
    return re.sub(rf'\{{"{rule}", (true|false)', lambda m: f'{{"{rule}", {"false" if m[1] == "true" else "true"}', text, count=1)


def no_arrow(text, rule):
    head = "    if (step == before || !there(before)) return;\n"
    return text.replace(head, f'{head}    if (rule == "{rule}") return;\n', 1)


WHERE = {
    "checker": ("libplanner/rules/violations.cpp", silent, "rules_tests", []),
    "table": ("libplanner/rules/bench_rules.cpp", other_kind, "rules_tests", []),
    "planner": ("libplanner/order/step_list.cpp", no_arrow, "lawful_plans", ["--seed", "11", "--count", "300"]),
}


def commands(build, target):
    return subprocess.run(["ninja", "-C", build, "-t", "commands", target], capture_output=True, text=True, check=True).stdout.splitlines()


def main():
    words = argparse.ArgumentParser()
    words.add_argument("build")
    words.add_argument("--only", default=",".join(RULES))
    words.add_argument("--where", default=",".join(WHERE))
    wanted = words.parse_args()
    unnoticed = tried = 0
    for where in wanted.where.split(","):
        source, change, target, arguments = WHERE[where]
        known = commands(wanted.build, target)
        compiling = shlex.split(next(line for line in known if line.endswith(source)))
        linking = known[-1]
        text = (ROOT / source).read_text(encoding="utf-8")
        for rule in wanted.only.split(","):
            if where == "planner" and (rule in NO_ARROW or rule.startswith("s")):
                continue
            changed = change(text, rule)
            if changed == text:
                print(f"{rule}, {where}: there is nothing to change")
                unnoticed += 1
                continue
            with tempfile.TemporaryDirectory() as folder:
                copy, made, program = (pathlib.Path(folder) / name for name in (pathlib.Path(source).name, "changed.o", "program"))
                copy.write_text(changed, encoding="utf-8")
                compiler = [word for word in compiling if word != "ccache" and not word.endswith("/ccache")]
                built = compiler[compiler.index("-o") + 1]
                compiler[compiler.index("-o") + 1] = str(made)
                compiler[compiler.index("-MF") + 1] = str(pathlib.Path(folder) / "changed.d")
                compiler[-1] = str(copy)
                subprocess.run(compiler, cwd=wanted.build, check=True)
                link = linking.replace(built, str(made)).split("&&")
                line = shlex.split(next(part for part in link if " -o " in part))
                line[line.index("-o") + 1] = str(program)
                subprocess.run(line, cwd=wanted.build, check=True)
                status = subprocess.run([str(program), *arguments], cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False).returncode
            tried += 1
            if status == 0:
                print(f"{rule}, {where}: changed, and no test fails")
                unnoticed += 1
    print(f"{tried} changes, {unnoticed} that no test notices")
    return 1 if unnoticed or not tried else 0


if __name__ == "__main__":
    sys.exit(main())
