#!/bin/bash
# SPDX-License-Identifier: MIT
# Every test that fits into a quarter of an hour on two cores, on Debian 12 as root or with sudo: installs what is
# missing (nothing and no network when nothing is missing), says what it does, and ends with a line "N passed, N failed".
# Exit status 0 when nothing failed and something ran. tests/long.sh holds the rest.
set -u
cd "$(dirname "$0")/.." || exit 5

packages=(g++ cmake ninja-build libboost-dev libpugixml-dev libfmt-dev libeigen3-dev libsuitesparse-dev libcli11-dev
    nlohmann-json3-dev catch2 libsqlite3-dev libngspice0 libngspice0-dev libxml2-utils clang clang-format shellcheck python3 locales)
jobs=${JOBS:-2}
logs=build/logs
passed=0
failed=0
mkdir -p "$logs"

say() { printf '%s  %s\n' "$(date +%H:%M:%S)" "$*"; }

verdict() { # name, status, log
    if [ "$2" -eq 0 ]; then
        passed=$((passed + 1))
        say "passed: $1"
    else
        failed=$((failed + 1))
        say "FAILED: $1 (log: $3)"
        tail -n 25 "$3" | sed 's/^/    /'
    fi
}

check() { # name, then a command: one test
    local name=$1 status=0 log
    shift
    log=$logs/$(printf '%s' "$name" | tr -c 'a-zA-Z0-9\n' '-').log
    "$@" >"$log" 2>&1 || status=$?
    verdict "$name" "$status" "$log"
    return "$status"
}

suite() { # preset, ctest arguments: counts each test; a suite without a test fails
    local preset=$1 log=$logs/ctest-$1.log report=build/logs/ctest-$1.xml status=0 total bad
    shift
    rm -f "$report"
    ctest --preset "$preset" -j "$jobs" --output-junit "$PWD/$report" "$@" >"$log" 2>&1 || status=$?
    total=$(sed -n 's/^[[:space:]]*tests="\([0-9]*\)".*/\1/p' "$report" 2>/dev/null | head -n 1)
    bad=$(sed -n 's/^[[:space:]]*failures="\([0-9]*\)".*/\1/p' "$report" 2>/dev/null | head -n 1)
    if [ -z "$total" ] || [ "$total" -eq 0 ]; then
        verdict "tests of preset $preset: none ran" 1 "$log"
        return
    fi
    bad=${bad:-0}
    [ "$status" -eq 0 ] || [ "$bad" -gt 0 ] || bad=1
    passed=$((passed + total - bad))
    failed=$((failed + bad))
    say "tests of preset $preset: $((total - bad)) passed, $bad failed"
    [ "$bad" -eq 0 ] || sed -n '/The following tests FAILED/,$p' "$log" | sed 's/^/    /'
}

schema() {
    xmllint --noout --schema netlists/chassis.xsd netlists/s*.xml
}

formatted() {
    find libplanner cli tests examples -name '*.cpp' -o -name '*.hpp' | LC_ALL=C sort | xargs clang-format --dry-run -Werror
}

scripts() {
    shellcheck tests/run.sh tests/long.sh examples/first-plan.sh .ci/run .ci/install
}

engine_is_here() { # the reference engine of tests/oracle: its absence is a failure, not a test left out
    python3 -c 'import ctypes; ctypes.CDLL("libngspice.so.0")'
}

plan() { # the whole road of a newcomer, and the same bytes whatever the locale
    export TUBEWRIGHT_PRESET=dev
    examples/first-plan.sh >build/logs/plan.txt || return 1
    [ "$(grep -c '^======== ' build/logs/plan.txt)" -eq 5 ] || return 1
    [ -d build/dev/locale/de_DE.UTF-8 ] || return 1
    LOCPATH=$PWD/build/dev/locale LC_ALL=de_DE.UTF-8 examples/first-plan.sh >build/logs/plan-again.txt || return 1
    cmp build/logs/plan.txt build/logs/plan-again.txt
}

same_from_both() { # two compilers, optimised and not: the same answers to the byte
    local file command out=build/logs/both
    mkdir -p "$out"
    for file in netlists/s*.xml; do
        # every command on one of the two whole sets; the generated set is large: unoptimised, its audit alone
        local commands=(volts)
        case $file in
            *s1-*) commands=(volts threats steps) ;;
            *s9-*) commands=(audit survey stress powerup shop) ;;
            *generated*) commands=(audit) ;;
        esac
        for command in "${commands[@]}"; do
            build/dev/cli/tubewright "$command" "$file" >"$out/g++.txt"
            build/clang/cli/tubewright "$command" "$file" >"$out/clang.txt"
            if ! [ -s "$out/g++.txt" ] || ! cmp "$out/g++.txt" "$out/clang.txt"; then
                echo "$command $file"
                return 1
            fi
        done
    done
}

say "packages"
check "packages" .ci/install "${packages[@]}" || { printf '%d passed, %d failed\n' "$passed" "$failed"; exit 1; }

export CMAKE_BUILD_PARALLEL_LEVEL=$jobs
if command -v ccache >/dev/null 2>&1; then
    export CMAKE_CXX_COMPILER_LAUNCHER=ccache CMAKE_C_COMPILER_LAUNCHER=ccache
    quick=OFF # what is built from a cache has no need of it
else
    quick=ON
fi

check "the reference engine libngspice is here" engine_is_here
check "sources are formatted" formatted
check "demo sets obey the schema" schema
check "shell scripts are clean" scripts

say "preset dev: g++, warnings are errors, all tests"
check "configure dev" cmake --preset dev -DTUBEWRIGHT_QUICK_BUILD="$quick" && check "build dev" cmake --build --preset dev && suite dev -LE long

say "the plan of the first demo set"
check "examples/first-plan.sh prints the plan, the same in any locale" plan

say "preset clang: the library and the program"
check "configure clang" cmake --preset clang && check "build clang" cmake --build --preset clang --target tubewright tubewright_program &&
    check "g++ and clang give the same answers" same_from_both

# What meets hostile input, and the solver, under the sanitizers; tests/long.sh does all of them.
say "preset sanitize: address and undefined-behaviour sanitizers"
watched=(terms chassis netlist circuit record)
mapfile -t targets < <(for module in "${watched[@]}"; do [ -f "tests/$module/CMakeLists.txt" ] && echo "${module}_tests"; done)
targets+=(tubewright_program) # the tests of the log run it
check "configure sanitize" cmake --preset sanitize -DTUBEWRIGHT_QUICK_BUILD="$quick" &&
    check "build sanitize" cmake --build --preset sanitize --target "${targets[@]}" &&
    suite sanitize -LE long -R "^($(IFS='|'; echo "${watched[*]}")):"

[ "$passed" -gt 0 ] || failed=$((failed + 1))
printf '%d passed, %d failed\n' "$passed" "$failed"
[ "$failed" -eq 0 ]
