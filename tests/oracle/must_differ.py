#!/usr/bin/env python3
# SPDX-License-Identifier: MIT
"""compare.py with a fault planted: passes only when a comparison was made and found a difference (exit status 1, not 2 and not 0)."""

import sys

import compare

compare.ATTEMPTS = ((0.6, 1.0, 1),)  # from the right answer: it need not come to rest to be seen leaving
compare.STEADY = 1.0
status = compare.main()
print("the planted fault was " + {0: "NOT found", 1: "found", 2: "never looked for"}[status])
sys.exit(0 if status == 1 else 1)
