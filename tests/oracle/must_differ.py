#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""compare.py with a fault planted: passes only when a comparison was made and found a difference. With --same first: only when one was made and found none."""

import sys

import compare

SAME = len(sys.argv) > 1 and sys.argv[1] == "--same"
if SAME:
    del sys.argv[1]
if "warm-up" in sys.argv:  # an unloaded supply: from the answer itself, and the climb to it
    compare.ATTEMPTS = compare.ATTEMPTS[-1:]
else:
    # from a thousandth beside the right answer: it need not come to rest to be seen leaving, and at the answer itself the
    # first step of the engine has no slope to go by
    compare.ATTEMPTS = ((0.6, 0.999, 1),)
    compare.CLIMB = None
    compare.STEADY = 1.0
status = compare.main()
print("the planted fault was " + {0: "NOT found", 1: "found", 2: "never looked for"}[status])
sys.exit(0 if status == (0 if SAME else 1) else 1)
