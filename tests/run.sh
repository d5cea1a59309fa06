#!/bin/bash
# Runs every suite, prints the seconds of each, and closes with "N passed, N failed". BUILD names the build folder.
set -u
cd "$(dirname "$0")/.."
BUILD=${BUILD:-build}
export COAT_BUILD=$PWD/$BUILD COAT_ROOT=$PWD COAT_REFERENCE=$PWD/tests/reference
passed=0 failed=0
logs=$BUILD/test-logs
mkdir -p "$logs"

# Adds up what a suite printed: cmocka counts in brackets, node:test in its closing lines.
count() {
    local log=$1 ok bad
    ok=$(sed -nE 's/^\[  PASSED  \] ([0-9]+) test.*/\1/p; s/^# pass ([0-9]+)$/\1/p; s/^ℹ pass ([0-9]+)$/\1/p' "$log" | awk '{s+=$1} END {print s+0}')
    bad=$(sed -nE 's/^\[  FAILED  \] ([0-9]+) test.*/\1/p; s/^# fail ([0-9]+)$/\1/p; s/^ℹ fail ([0-9]+)$/\1/p' "$log" | awk '{s+=$1} END {print s+0}')
    echo "$ok $bad"
}

suite() {
    local name=$1 log begin status ok bad
    shift
    log=$logs/${name//\//-}.log
    begin=$(date +%s.%N)
    "$@" >"$log" 2>&1
    status=$?
    read -r ok bad < <(count "$log")
    # A suite that ran nothing, or died without counting its failure, has failed.
    if [ "$status" -ne 0 ] && [ "$bad" -eq 0 ]; then bad=1; fi
    if [ "$ok" -eq 0 ] && [ "$bad" -eq 0 ]; then bad=1; fi
    passed=$((passed + ok)) failed=$((failed + bad))
    printf '%-34s %4d passed %3d failed %7.1f s\n' "$name" "$ok" "$bad" "$(echo "$(date +%s.%N) - $begin" | bc -l 2>/dev/null || awk -v a="$begin" -v b="$(date +%s.%N)" 'BEGIN {print b - a}')"
    if [ "$bad" -gt 0 ]; then tail -n 60 "$log" | sed 's/^/    /'; fi
}

programs() {
    for part in "$@"; do
        for program in "$BUILD/tests/$part"/test_*; do
            [ -x "$program" ] && [ ! -d "$program" ] && case $program in *.*) ;; *) suite "$part/$(basename "$program")" "$program" ;; esac
        done
    done
}

scripts() {
    for file in "$@"; do
        [ -e "$file" ] && suite "$(echo "${file#tests/}" | sed 's/\.test\.js$//')" node --test "$file"
    done
}

# Two lanes, since the browser's suites wait as much as they work; a lane leaves its counts in a file, and one that leaves none has failed. What
# keeps real time (beats, limits, back-off) mostly sleeps: two lanes of it run before them, with nothing that works hard beside.
lane() {
    local counts=$logs/$1.counts
    shift
    rm -f "$counts"
    "$@"
    echo "$passed $failed" >"$counts"
}
everything_else() {
    programs unit store shop http cli
    scripts tests/tree/*.test.js tests/api/*.test.js
}

rm -f "$logs"/*.counts
lane sources programs sense notify &
lane couriers scripts tests/courier/*.test.js tests/fault/*.test.js
wait
passed=0 failed=0
lane browser scripts tests/browser/*.test.js &
lane rest everything_else
wait
for counts in "$logs/sources.counts" "$logs/couriers.counts" "$logs/browser.counts" "$logs/rest.counts"; do
    read -r ok bad <"$counts" || { ok=0 bad=1; }
    passed_all=$((${passed_all:-0} + ok)) failed_all=$((${failed_all:-0} + bad))
done
echo
echo "$passed_all passed, $failed_all failed"
[ "$failed_all" -eq 0 ] && [ "$passed_all" -gt 0 ]
