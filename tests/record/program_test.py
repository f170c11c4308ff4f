#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The bench log as processes meet it. Each word on the command line is one trial:

    kills     the program is killed (SIGKILL) at random moments while it logs: no entry that it acknowledged is lost, none is
              half there, the file opens each time
    two       two programs at once: both are kept, or one is refused with a word
    folder    a folder that cannot be written (also for root: the right to write everywhere is given up first)
    disk      no room: a limit on the size of a file, and a small disk where one may be mounted
    edited    the chassis file edited since: parts renamed or gone

Example: program_test.py --program build/dev/cli/tubewright --kills 1000 kills
"""

import argparse
import ctypes
import os
import pathlib
import random
import resource
import signal
import subprocess
import sys
import tempfile
import threading
import time

SET = """<?xml version="1.0"?>
<chassis version="1" name="small set" reference="gnd" m-means="thousand" paper="wax-paper">
  <node is="chassis-metal" net="gnd"/>
  <socket id="V3" tube="75"/>  <socket id="V4" tube="42"/>
  <capacitor id="C9" value=".02 mfd" volts="400" a="V3.2" b="V4.4"/>
  <resistor id="R7" value="470K" a="V4.4" b="gnd"/>
  <resistor id="R11" value="410" a="V4.5" b="gnd"/>
  <join at="V4.1 gnd"/>
</chassis>
"""


class Failed(Exception):
    pass


def must(kept, why):
    if not kept:
        raise Failed(why)


class Bench:
    """A folder with a chassis file, and the program run in it."""

    def __init__(self, program):
        self.program = str(pathlib.Path(program).resolve())
        self.room = tempfile.TemporaryDirectory()
        self.folder = pathlib.Path(self.room.name)
        (self.folder / "set.xml").write_text(SET, encoding="utf-8")

    def start(self, *words, before=None):
        # signals stay ignored that are: a file that grows too large is an error then, not a death
        return subprocess.Popen([self.program, *words], cwd=self.folder, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
                                stderr=subprocess.PIPE, preexec_fn=before, restore_signals=False)

    def run(self, *words, before=None):
        process = self.start(*words, before=before)
        out, err = process.communicate(timeout=60)
        return process.returncode, out.decode(), err.decode()

    def pencils(self):
        """What the log holds, by its own export; an empty list where there is no log yet."""
        if not (self.folder / "set.xml.bench.db").exists():
            return []
        status, out, err = self.run("log", "set.xml", "--export")
        must(status == 0, f"the log does not open: {err}")
        return [line[len("pencil: "):] for line in out.splitlines() if line.startswith("pencil: ")]


def kills(program, options):
    """Entries are acknowledged on standard output; those stand in the log for ever, and of the others all or nothing."""
    bench = Bench(program)
    dice = random.Random(options.seed)
    acknowledged, possible, killed_in_time = [], [], 0
    # how long an entry takes here, so that the kills fall all over it
    begin = time.monotonic()
    status, _, err = bench.run("log", "set.xml", "note begin 1; note begin 2")
    must(status == 0, err)
    acknowledged.append(["note begin 1", "note begin 2"])
    usual = time.monotonic() - begin
    for turn in range(options.kills):
        wanted = [f"note turn {turn} of many, {part}" for part in range(3)]
        process = bench.start("log", "set.xml", "; ".join(wanted))
        heard = []

        def listen(stream=process.stdout, into=heard):
            into.append(stream.read())

        ear = threading.Thread(target=listen)
        ear.start()
        time.sleep(dice.uniform(0, 1.3 * usual))
        process.send_signal(signal.SIGKILL)
        process.wait()
        ear.join()
        process.stderr.close()
        process.stdout.close()
        killed_in_time += process.returncode == -signal.SIGKILL
        if b" in set.xml.bench.db" in b"".join(heard):
            acknowledged.append(wanted)
        else:
            possible.append(wanted)
        if turn % 5 == 0:
            fresh(bench, turn, dice.uniform(0, 1.3 * usual))
        if turn % 10 == 9 or turn + 1 == options.kills:
            now = bench.pencils()
            judge(now, acknowledged, possible)
    # a journal that was only begun is no one's; the next entry takes it away
    status, _, err = bench.run("log", "set.xml", "note the end")
    must(status == 0 and bench.pencils()[-1] == "note the end", f"the log takes no entry after all: {err}")
    left = sorted(path.name for path in bench.folder.iterdir())
    must(left == ["set.xml", "set.xml.bench.db"], f"left behind: {left}")
    must(killed_in_time >= options.kills // 4, f"only {killed_in_time} of {options.kills} were killed before they had ended")
    print(f"{options.kills} kills, {killed_in_time} before the end; {len(acknowledged) - 1} acknowledged, all there; "
          f"{sum(w[0] in set(now) for w in possible)} more were in, whole; none half, the log opened each time")


def fresh(bench, turn, wait):
    """Killed while the log itself is made."""
    name = f"fresh{turn}.db"
    process = bench.start("log", "set.xml", "C9 out; R7 412k", "--log", name)
    time.sleep(wait)
    process.send_signal(signal.SIGKILL)
    out, _ = process.communicate(timeout=60)
    if (bench.folder / name).exists():
        status, text, err = bench.run("log", "set.xml", "--log", name, "--export")
        must(status == 0, f"a log killed while it was made does not open: {err}")
        count = text.count("pencil: ")
        must(count == 2 if b" in fresh" in out else count in (0, 2), f"a new log with {count} entries of two")
        status, _, err = bench.run("log", "set.xml", "note it goes on", "--log", name)
        must(status == 0, f"a log killed while it was made takes no entry: {err}")
        (bench.folder / name).unlink()
    else:
        must(b" in fresh" not in out, "acknowledged, and there is no log")
    (bench.folder / (name + "-journal")).unlink(missing_ok=True)


def judge(now, acknowledged, possible):
    there = set(now)
    must(len(there) == len(now), "an entry stands twice")
    for wanted in acknowledged:
        must(all(one in there for one in wanted), f"acknowledged and lost: {wanted}")
    for wanted in possible:
        must(len({one in there for one in wanted}) == 1, f"half entered: {wanted}")
    order = [one for wanted in acknowledged for one in wanted]
    places = {one: k for k, one in enumerate(now)}
    must([places[one] for one in order] == sorted(places[one] for one in order), "out of order")


def two(program, options):
    bench = Bench(program)
    kept = refused = 0
    for turn in range(20):
        wanted = [[f"note {who} {turn} {part}" for part in range(4)] for who in ("left", "right")]
        running = [bench.start("log", "set.xml", "; ".join(words)) for words in wanted]
        for process, words in zip(running, wanted):
            out, err = process.communicate(timeout=60)
            there = bench.pencils()
            if process.returncode == 0:
                must(all(one in there for one in words), f"acknowledged and lost: {words}")
                must(b"4 entries" in out, "no word of the entries")
                kept += 1
            else:
                must(b"nothing was entered" in err, f"refused without a word: {err}")
                must(not any(one in there for one in words), "refused and yet in the log")
                refused += 1
    must(kept > 0, "neither was ever kept")
    print(f"two at once, {turn + 1} times: {kept} kept, {refused} refused with a word")


def without_privilege():
    """Root writes anywhere: the right to is given up before the program begins (capability 1, DAC_OVERRIDE)."""
    if os.geteuid() == 0:
        library = ctypes.CDLL(None, use_errno=True)
        if library.prctl(24, 1, 0, 0, 0) != 0:  # PR_CAPBSET_DROP
            os._exit(99)


def folder(program, options):
    bench = Bench(program)
    status, _, err = bench.run("log", "set.xml", "C9 out")
    must(status == 0, err)
    before = (bench.folder / "set.xml.bench.db").read_bytes()
    os.chmod(bench.folder, 0o555)
    try:
        status, out, err = bench.run("log", "set.xml", "R7 412k", before=without_privilege)
        must(status == 5, f"status {status}: {out}{err}")
        must("nothing was entered" in err and "cannot be written" in err, f"not said: {err}")
        must((bench.folder / "set.xml.bench.db").read_bytes() == before, "the log changed")
        # reading needs no right to write
        status, out, err = bench.run("log", "set.xml", before=without_privilege)
        must(status in (0, 1) and "C9: removed" in out, f"cannot be read: {status} {err}")
        status, out, err = bench.run("log", "set.xml", "R7 412k", "--log", "elsewhere.db", before=without_privilege)
        must(status == 5 and "nothing was entered" in err, f"no log can begin here, and it is not said: {status} {err}")
    finally:
        os.chmod(bench.folder, 0o755)
    # the file alone cannot be written
    os.chmod(bench.folder / "set.xml.bench.db", 0o444)
    status, out, err = bench.run("log", "set.xml", "R7 412k", before=without_privilege)
    must(status == 5 and "nothing was entered" in err, f"{status} {err}")
    os.chmod(bench.folder / "set.xml.bench.db", 0o644)
    status, _, err = bench.run("log", "set.xml", "R7 412k")
    must(status == 0, err)
    must(bench.pencils() == ["C9 out", "R7 412k"], "something was lost")
    print("a folder or a file that cannot be written: refused with a word, read all the same, nothing lost")


def disk(program, options):
    bench = Bench(program)
    status, _, err = bench.run("log", "set.xml", "C9 out")
    must(status == 0, err)
    size = (bench.folder / "set.xml.bench.db").stat().st_size

    def no_more_than_it_has():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))

    long = "; ".join(f"note {k} " + "n" * 400 for k in range(60))
    status, out, err = bench.run("log", "set.xml", long, before=no_more_than_it_has)
    must(status == 5 and "nothing was entered" in err, f"{status} {out} {err}")
    must(bench.pencils() == ["C9 out"], "half entered")

    def none_at_all():
        signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
        resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))

    status, out, err = bench.run("log", "set.xml", "R7 412k", before=none_at_all)
    must(status == 5 and "nothing was entered" in err, f"{status} {out} {err}")
    status, out, err = bench.run("log", "set.xml", "R7 412k", "--log", "other.db", before=none_at_all)
    must(status == 5 and "nothing was entered" in err, f"{status} {out} {err}")
    must(bench.pencils() == ["C9 out"], "something was lost")
    status, _, err = bench.run("log", "set.xml", "R7 412k")
    must(status == 0, err)
    # the answer itself finds no room: the entry is in, and the program does not say that it is done
    with open("/dev/full", "wb") as full:
        done = subprocess.run([bench.program, "log", "set.xml", "R11 412"], cwd=bench.folder, stdout=full, stderr=subprocess.PIPE, check=False)
    must(done.returncode == 5, "no word of an answer that was not written")
    must(bench.pencils() == ["C9 out", "R7 412k", "R11 412"], "something was lost")
    print("no room: refused with a word, nothing half entered, nothing lost;", small_disk(bench))


def small_disk(bench):
    """A disk of its own, where this process may mount one."""
    script = (f'mount -t tmpfs -o size=96k none "{bench.folder}/disk" && cp "{bench.folder}/set.xml" "{bench.folder}/disk" && '
              f'cd "{bench.folder}/disk" && n=0; while [ $n -lt 200 ]; do "{bench.program}" log set.xml "note turn $n {"x" * 900}" '
              '>out.txt 2>err.txt; s=$?; if [ $s -ne 0 ]; then break; fi; n=$((n + 1)); done; echo "$n $s"; '
              f'"{bench.program}" log set.xml --export >/dev/shm/export.$$ 2>&1; echo "$?"; grep -c "^pencil" /dev/shm/export.$$; rm -f /dev/shm/export.$$')
    (bench.folder / "disk").mkdir()
    try:
        done = subprocess.run(["unshare", "-m", "sh", "-c", script], capture_output=True, text=True, check=False, timeout=120)
    except FileNotFoundError:
        return "no small disk could be made here"
    words = done.stdout.split()
    if len(words) < 4:
        return "no small disk could be mounted here"
    count, status, read, kept = (int(word) for word in words[:4])
    must(status == 5 and read == 0, f"a full disk: status {status}, export {read}")
    must(kept == count and 0 < count < 200, f"a full disk: {count} acknowledged, {kept} kept")
    return f"a full disk of 96 k kept all {kept} entries that were acknowledged"


def edited(program, options):
    bench = Bench(program)
    status, _, err = bench.run("log", "set.xml", "C9 out; R7 in 470k; R11 412")
    must(status == 0, err)
    path = bench.folder / "set.xml"
    path.write_text(SET.replace('id="C9"', 'id="C16"').replace('  <resistor id="R7" value="470K" a="V4.4" b="gnd"/>\n', ""), encoding="utf-8")
    status, out, err = bench.run("log", "set.xml")
    must("C9 is not in the file now" in " ".join(out.split()), f"not said: {out}{err}")
    must("nearest now: C16" in " ".join(out.split()), f"no nearest: {out}")
    must("R7 is not in the file now" in " ".join(out.split()), f"not said: {out}")
    must("C9: removed" in out, "what is out is no longer told")
    status, out, err = bench.run("log", "set.xml", "C9 is now C16")
    must(status == 0, err)
    status, out, err = bench.run("log", "set.xml")
    must("C16: removed" in out and "C9 is not in the file" not in " ".join(out.split()), f"not taken: {out}")
    must(bench.pencils() == ["C9 out", "R7 in 470k", "R11 412", "C9 is now C16"], "something was lost")
    # a file that is no chassis file any more: nothing is entered, the export still works
    path.write_text("<chassis", encoding="utf-8")
    status, out, err = bench.run("log", "set.xml", "R11 out")
    must(status == 3 and not out, f"{status} {out}")
    must(len(bench.pencils()) == 4, "something was lost")
    path.write_text(SET, encoding="utf-8")
    status, out, err = bench.run("log", "set.xml")
    must("C9 is not in the file" not in out and "R7" in out, f"the old file: {out}")
    print("a chassis file edited since: parts that are gone are named with the nearest, nothing is lost")


def main():
    parser = argparse.ArgumentParser(description=__doc__.split("\n", maxsplit=1)[0])
    parser.add_argument("--program", required=True)
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("trial", choices=["kills", "two", "folder", "disk", "edited"])
    options = parser.parse_args()
    try:
        globals()[options.trial](options.program, options)
    except Failed as failure:
        print(f"{options.trial}: {failure}")
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
