#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""The reference engine, in a process of its own so that nothing it does can hurt the tests.

Reads a job from standard input, runs libngspice on it and writes what was asked for to standard output, both as JSON:

    in:  {"lines": [netlist lines], "period": 0.01667, "cycles": 8, "vectors": {"name": "v(n1)", ...}}
    out: {"name": {"means": [by cycle], "crests": [by cycle], "rms": .., "ac_rms": .., "low": .., "high": ..}, ...} or {"error": "..."}

The figures are of the last `cycles` whole periods: means and crests (largest magnitude) one a period, oldest first; the rest over the last period. rms counts the mean,
ac_rms does not.
"""

import ctypes
import json
import math
import os
import sys


class Vector(ctypes.Structure):
    _fields_ = [("name", ctypes.c_char_p), ("type", ctypes.c_int), ("flags", ctypes.c_short), ("real", ctypes.POINTER(ctypes.c_double)),
                ("complex", ctypes.c_void_p), ("length", ctypes.c_int)]


SendChar = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_char_p, ctypes.c_int, ctypes.c_void_p)
ControlledExit = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_int, ctypes.c_bool, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p)
DataReady = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_int, ctypes.c_int, ctypes.c_void_p)
InitData = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_void_p, ctypes.c_int, ctypes.c_void_p)
Running = ctypes.CFUNCTYPE(ctypes.c_int, ctypes.c_bool, ctypes.c_int, ctypes.c_void_p)


class Engine:
    def __init__(self):
        self.said = []
        self.spice = ctypes.CDLL("libngspice.so.0")
        self.spice.ngGet_Vec_Info.restype = ctypes.POINTER(Vector)
        self.spice.ngGet_Vec_Info.argtypes = [ctypes.c_char_p]
        self.calls = (SendChar(self.hear), SendChar(lambda *_: 0), ControlledExit(self.leave), DataReady(lambda *_: 0), InitData(lambda *_: 0),
                      Running(lambda *_: 0))
        if self.spice.ngSpice_Init(*self.calls, None) != 0:
            raise RuntimeError("libngspice does not start")

    def hear(self, text, *_):
        self.said.append(text.decode(errors="replace"))
        return 0

    def leave(self, *_):
        self.said.append("the engine wants to end the process")
        return 0

    def run(self, lines):
        array = (ctypes.c_char_p * (len(lines) + 1))(*[line.encode() for line in lines], None)
        if self.spice.ngSpice_Circ(array) != 0:
            raise RuntimeError("the netlist is refused: " + self.complaint())
        if self.spice.ngSpice_Command(b"run") != 0 or any("aborted" in x or "singular" in x for x in self.said):
            raise RuntimeError("the run failed: " + self.complaint())

    def complaint(self):
        wrong = [x for x in self.said if "rror" in x or "ailed" in x or "aborted" in x or "timestep" in x]
        return " | ".join((wrong or self.said)[-6:])

    def vector(self, name):
        info = self.spice.ngGet_Vec_Info(name.encode())
        if not info or not info.contents.real or info.contents.length < 2:
            raise RuntimeError(f"no vector {name}: " + self.complaint())
        return info.contents.real[: info.contents.length]


def between(times, values, start, end):
    """The course from start to end, its ends interpolated."""

    def value_at(t, k):
        span = times[k] - times[k - 1]
        return values[k - 1] + (values[k] - values[k - 1]) * (t - times[k - 1]) / span if span > 0 else values[k]

    low, high = index_of(times, start), index_of(times, end)
    course = [(start, value_at(start, low))]
    course += [(times[k], values[k]) for k in range(low, high) if start < times[k] < end]
    course.append((end, value_at(end, high)))
    return course


def index_of(times, t):
    """The first sample at or after t (at least the second)."""
    low, high = 1, len(times) - 1
    while low < high:
        middle = (low + high) // 2
        if times[middle] < t:
            low = middle + 1
        else:
            high = middle
    return low


def integral(course, square=False, less=0.0):
    """Of the straight lines between the samples; exactly, for the square too."""
    total = 0.0
    for (t0, a), (t1, b) in zip(course, course[1:]):
        a, b = a - less, b - less
        total += (t1 - t0) * ((a * a + a * b + b * b) / 3 if square else (a + b) / 2)
    return total


def figures(times, values, period, cycles):
    end = times[-1]
    courses = [between(times, values, end - (k + 1) * period, end - k * period) for k in range(cycles)][::-1]
    means, crests = [integral(c) / period for c in courses], [max(abs(v) for _, v in c) for c in courses]
    last, mean = courses[-1], means[-1]
    return {"means": means, "crests": crests, "rms": math.sqrt(integral(last, True) / period), "ac_rms": math.sqrt(integral(last, True, mean) / period),
            "low": min(v for _, v in last), "high": max(v for _, v in last)}


def answer(job):
    engine = Engine()
    engine.run(job["lines"])
    times = engine.vector("time")
    if times[-1] < job["end"] * (1 - 1e-9):
        raise RuntimeError(f"stopped at {times[-1]} s of {job['end']} s: " + engine.complaint())
    return {name: figures(times, engine.vector(vector), job["period"], job["cycles"]) for name, vector in job["vectors"].items()}


def main():
    # The engine itself may write to standard output: keep that apart from the answer.
    out = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    try:
        result = answer(json.load(sys.stdin))
    except (RuntimeError, OSError, KeyError, ValueError) as fault:
        result = {"error": str(fault)}
    json.dump(result, out)
    out.flush()
    os._exit(0)  # no clean-up of a foreign library


if __name__ == "__main__":
    main()
