#!/bin/sh
# SPDX-License-Identifier: MIT
# From a fresh clone to a repair plan, on Debian 12 as root or with sudo: installs what is missing, builds the program,
# and prints the plan of the demo set S1. A chassis file of your own may be named instead:
#
#     examples/first-plan.sh
#     examples/first-plan.sh my-set.xml
set -eu
here=$(cd "$(dirname "$0")/.." && pwd)
set_file=${1:-$here/netlists/s1-quarry-hill.xml}
case $set_file in /*) ;; *) set_file=$PWD/$set_file ;; esac
cd "$here"

.ci/install g++ cmake ninja-build libboost-dev libpugixml-dev libfmt-dev libeigen3-dev libsuitesparse-dev libcli11-dev nlohmann-json3-dev libsqlite3-dev >&2

preset=${TUBEWRIGHT_PRESET:-release} # another preset for the tests, which have built it already
log=$here/build/first-plan.log
mkdir -p build
echo "build: cmake --preset $preset, then cmake --build --preset $preset (log: build/first-plan.log)" >&2
if ! { cmake --preset "$preset" && cmake --build --preset "$preset"; } >"$log" 2>&1; then
    tail -n 40 "$log" >&2
    echo "build: failed" >&2
    exit 1
fi

tubewright=$here/build/$preset/cli/tubewright
worst=0
part() { # title, then the command's words
    title=$1
    shift
    printf '\n======== %s\n         tubewright %s\n\n' "$title" "$*"
    status=0
    "$tubewright" "$@" "$set_file" || status=$?
    # 1 is an answer too: something in it must stop the person.
    [ "$status" -le 1 ] || worst=$status
}
part "What is on the bench" survey
part "What would burn the power transformer" threats
part "The repair, step by step" steps
part "Bringing it up" powerup
part "What to buy" shop
exit "$worst"
