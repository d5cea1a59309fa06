#!/bin/bash
# The long tests, after the short ones: everything again under the sanitizers, strict builds by both compilers, the C programs under
# valgrind, and random cases with seeds of their own. Prints the seconds of each part, and closes with "N passed, N failed". Takes a
# quarter to three quarters of an hour; `run-long.sh sanitizers|compilers|valgrind|seeds` runs one part. COAT_SEED sets the first seed.
set -u
cd "$(dirname "$0")/.."
wanted=${1:-all}
passed=0 failed=0 skipped=0
logs=build/long-logs
mkdir -p "$logs"

install_missing() {
    local missing=""
    command -v clang >/dev/null 2>&1 || missing="$missing clang"
    command -v valgrind >/dev/null 2>&1 || missing="$missing valgrind"
    if [ -z "$missing" ]; then return; fi
    if ! command -v apt-get >/dev/null 2>&1; then
        echo "Missing packages, by their Debian names:$missing. Install their likes and run this again." >&2
        exit 1
    fi
    local as_root=""
    [ "$(id -u)" -eq 0 ] || as_root="sudo"
    echo "Installing:$missing"
    $as_root apt-get update -qq
    # shellcheck disable=SC2086  # a list on purpose
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends $missing >/dev/null || exit 1
}

# Adds up what a part printed: cmocka counts in brackets, node:test and run.sh in their closing lines.
count() {
    local log=$1 ok bad
    ok=$(sed -nE 's/^\[  PASSED  \] ([0-9]+) test.*/\1/p; s/^(# |ℹ )pass ([0-9]+)$/\2/p; s/^([0-9]+) passed, [0-9]+ failed$/\1/p' "$log" | awk '{s += $1} END {print s + 0}')
    bad=$(sed -nE 's/^\[  FAILED  \] ([0-9]+) test.*/\1/p; s/^(# |ℹ )fail ([0-9]+)$/\2/p; s/^[0-9]+ passed, ([0-9]+) failed$/\1/p' "$log" | awk '{s += $1} END {print s + 0}')
    echo "$ok $bad"
}

# part SECONDS NAME COMMAND...: one that takes longer is ended; under valgrind it counts as skipped, elsewhere as failed. A command that
# counts nothing, such as a build, is one that passed or failed.
part() {
    local limit=$1 name=$2 log begin=$SECONDS status ok bad word=""
    shift 2
    log=$logs/${name//[^A-Za-z0-9]/-}.log
    timeout --kill-after=10 "$limit" "$@" >"$log" 2>&1
    status=$?
    read -r ok bad < <(count "$log")
    if [ "$status" -eq 124 ] && [[ $name == valgrind* ]]; then
        skipped=$((skipped + 1))
        printf '%-44s skipped: takes more than %d s\n' "$name" "$limit"
        return
    fi
    if [ "$status" -ne 0 ] && [ "$bad" -eq 0 ]; then bad=1; fi
    if [ "$status" -eq 0 ] && [ "$ok" -eq 0 ] && [ "$bad" -eq 0 ]; then ok=1; fi
    if [ "$status" -eq 124 ]; then word=" (ended after $limit s)"; fi
    passed=$((passed + ok)) failed=$((failed + bad))
    printf '%-44s %4d passed %3d failed %6d s%s\n' "$name" "$ok" "$bad" $((SECONDS - begin)) "$word"
    if [ "$bad" -gt 0 ]; then tail -n 60 "$log" | sed 's/^/    /'; fi
}

# The C test programs of a build, as "part/name".
programs() {
    local source
    for source in tests/{unit,store,shop,http,cli}/test_*.c; do
        source=${source#tests/}
        [ -x "$1/tests/${source%.c}" ] && echo "${source%.c}"
    done
}

# What a sanitizer says of a service that a test started goes to files: there must be none.
no_reports() {
    local report found=0
    for report in "$1".*; do
        [ -e "$report" ] || continue
        found=1
        head -n 40 "$report"
    done
    return $found
}

sanitizers() {
    local reports=$PWD/$logs/report
    rm -f "$reports".*
    part 1200 "sanitizers: build" make -s -k -j2 SANITIZE=1 tests # their code misleads gcc's warnings
    export ASAN_OPTIONS=log_path=$reports:detect_stack_use_after_return=1:strict_string_checks=1
    export UBSAN_OPTIONS=log_path=$reports:print_stacktrace=1
    part 1500 "sanitizers: all tests" env BUILD=build-san SUITE_LIMIT_S=1400 tests/run.sh
    unset ASAN_OPTIONS UBSAN_OPTIONS
    part 60 "sanitizers: no reports" bash -c "$(declare -f no_reports); no_reports '$reports'"
}

both_compilers() {
    local program strict="-O2 -g -Wdouble-promotion"
    part 900 "gcc: build without a warning" make -s -k -j2 CC=gcc BUILD=build/gcc WERROR=-Werror CFLAGS="$strict" tests build/gcc/tests/bench/bench
    part 900 "clang: build without a warning" make -s -k -j2 CC=clang BUILD=build/clang WERROR=-Werror CFLAGS="$strict" tests build/clang/tests/bench/bench
    for program in $(programs build/clang); do part 300 "clang: $program" "build/clang/tests/$program"; done
}

under_valgrind() {
    local program
    for program in $(programs build); do
        part 300 "valgrind: $program" valgrind -q --error-exitcode=9 --leak-check=full --show-leak-kinds=definite,possible \
            --errors-for-leak-kinds=definite,possible "build/tests/$program"
    done
}

# Programs and tests with random cases: each round with another seed, which its log names.
seeds() {
    local round name seed=${COAT_SEED:-$(od -An -N4 -tu4 /dev/urandom | tr -d ' ')}
    for round in 1 2 3 4 5; do
        echo "COAT_SEED=$seed"
        for name in $(programs build); do
            grep -qE 'COAT_SEED|"tests/unit/seed.h"|"seed.h"' "tests/$name.c" || continue
            part 300 "seeds, round $round: $name" env COAT_SEED="$seed" "build/tests/$name"
        done
        for name in $(grep -l COAT_SEED tests/api/*.test.js tests/browser/*.test.js 2>/dev/null); do
            part 300 "seeds, round $round: $name" env COAT_SEED="$seed" node --test "$name"
        done
        seed=$(((seed * 48271 + 11) % 2147483647))
    done
    part 1200 "histories of the clock, the long form" env COAT_LONG=1 COAT_SEED="$seed" build/tests/shop/test_clock_histories
}

# `make check` has built it; for a part alone nobody may have.
usual_build() {
    part 900 "build" make -s -j2 tests
}

export COAT_BUILD=$PWD/build COAT_ROOT=$PWD COAT_REFERENCE=$PWD/tests/reference
install_missing
case $wanted in
all)
    sanitizers
    both_compilers
    under_valgrind
    seeds
    ;;
sanitizers) sanitizers ;;
compilers) both_compilers ;;
valgrind)
    usual_build
    under_valgrind
    ;;
seeds)
    usual_build
    seeds
    ;;
*)
    echo "run-long.sh: no part \"$wanted\": sanitizers, compilers, valgrind, seeds, or none for all" >&2
    exit 2
    ;;
esac
echo
if [ "$skipped" -gt 0 ]; then echo "$skipped skipped, see above"; fi
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
