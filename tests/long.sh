#!/bin/bash
# SPDX-License-Identifier: MIT
# What does not fit into tests/run.sh: all tests under clang too, and the reference engine at a quarter of its step.
# Takes about an hour on two cores; ends like tests/run.sh with a count.
set -u
cd "$(dirname "$0")/.." || exit 5
passed=0
failed=0
count() { # name, then a command
    local name=$1
    shift
    printf '%s  %s\n' "$(date +%H:%M:%S)" "$name"
    if "$@"; then passed=$((passed + 1)); else failed=$((failed + 1)) && printf 'FAILED: %s\n' "$name"; fi
}
count "tests/run.sh" tests/run.sh
count "tests labelled long" ctest --preset dev -j "${JOBS:-2}" -L long
count "examples/first-plan.sh" examples/first-plan.sh
count "configure clang" cmake --preset clang
count "build clang" cmake --build --preset clang
count "tests of preset clang" ctest --preset clang -j "${JOBS:-2}"
count "build sanitize" cmake --build --preset sanitize
count "tests of preset sanitize" ctest --preset sanitize -j "${JOBS:-2}" -E "^(structure|oracle)"
count "the reference engine, step 5 us, reltol 1e-5" python3 -B tests/oracle/compare.py --program build/dev/cli/tubewright --step 5e-6 --reltol 1e-5 netlists/*.xml
printf '%d passed, %d failed\n' "$passed" "$failed"
[ "$failed" -eq 0 ]
