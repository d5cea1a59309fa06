#!/bin/bash
# Runs every suite, prints the seconds of each, and closes with "N passed, N failed". BUILD names the build folder.
#   tests/run.sh                  all of them, several at a time
#   tests/run.sh --suite FILE     one: a program, or a script of node:test
#   tests/run.sh --list           which there are, in their order
set -u
cd "$(dirname "$0")/.."
export BUILD=${BUILD:-build}
export COAT_BUILD=$PWD/$BUILD COAT_ROOT=$PWD COAT_REFERENCE=$PWD/tests/reference
logs=$BUILD/test-logs
export SUITE_LIMIT_S=${SUITE_LIMIT_S:-420} # three times the longest: one that hangs must fail, not stand still
mkdir -p "$logs"

# Adds up what a suite printed: cmocka counts in brackets, node:test in its closing lines.
count() {
    local log=$1 ok bad
    ok=$(sed -nE 's/^\[  PASSED  \] ([0-9]+) test.*/\1/p; s/^# pass ([0-9]+)$/\1/p; s/^ℹ pass ([0-9]+)$/\1/p' "$log" | awk '{s+=$1} END {print s+0}')
    bad=$(sed -nE 's/^\[  FAILED  \] ([0-9]+) test.*/\1/p; s/^# fail ([0-9]+)$/\1/p; s/^ℹ fail ([0-9]+)$/\1/p' "$log" | awk '{s+=$1} END {print s+0}')
    echo "$ok $bad"
}

# A file's name among the suites: tests/api/air.test.js is api/air, build/tests/unit/test_air is unit/test_air.
name_of() {
    local name=${1#"$BUILD"/}
    name=${name#tests/}
    echo "${name%.test.js}"
}
log_of() { name_of "$1" | sed "s|/|-|g; s|^|$logs/|"; }

# One suite; leaves its counts in a file. Prints in one go, since others print beside it.
suite() {
    local file=$1 name log begin=${EPOCHREALTIME/[.,]/} status ok bad ms said=""
    name=$(name_of "$file") log=$(log_of "$file")
    case $file in
    *.js) timeout -k 5 "$SUITE_LIMIT_S" node --test "$file" >"$log.log" 2>&1 ;;
    *) timeout -k 5 "$SUITE_LIMIT_S" "$file" >"$log.log" 2>&1 ;;
    esac
    status=$?
    if [ "$status" -eq 124 ]; then echo "ended after $SUITE_LIMIT_S s: something in it waits for what never comes" >>"$log.log"; fi
    read -r ok bad < <(count "$log.log")
    # A suite that ran nothing, or died without counting its failure, has failed.
    if [ "$status" -ne 0 ] && [ "$bad" -eq 0 ]; then bad=1; fi
    if [ "$ok" -eq 0 ] && [ "$bad" -eq 0 ]; then bad=1; fi
    echo "$ok $bad" >"$log.counts"
    ms=$(((${EPOCHREALTIME/[.,]/} - begin) / 1000))
    if [ "$bad" -gt 0 ]; then said=$(tail -n 60 "$log.log" | sed 's/^/    /')$'\n'; fi
    printf '%-34s %4d passed %3d failed %5d.%d s\n%s' "$name" "$ok" "$bad" $((ms / 1000)) $((ms % 1000 / 100)) "$said"
}

if [ "${1:-}" = --suite ]; then
    suite "$2"
    exit
fi

programs() {
    local part program
    for part in "$@"; do
        for program in "$BUILD/tests/$part"/test_*; do
            [ -x "$program" ] && [ ! -d "$program" ] && case $program in *.*) ;; *) echo "$program" ;; esac
        done
    done
}

# Those that take longest begin first, so that none is left running alone.
long_first() {
    local all long
    all=$(cat)
    long=$(for name in "$@"; do grep -E "(^|/)tests/$name(\.test\.js)?$" <<<"$all"; done)
    printf '%s\n' "$long"
    grep -vxF -e "$long" <<<"$all"
}

# What keeps real time (beats, limits, back-off, answers while others drip) mostly sleeps: many of it at a time, before the others, with nothing that works hard beside.
sleepers() {
    { programs sense notify; ls tests/courier/*.test.js tests/api/gate.test.js; } | long_first courier/channels sense/test_sense courier/webhook courier/courier courier/publish api/gate courier/links courier/service
}
# Histories reckon for most of a minute each and wait for nothing. They begin beside the sleepers, whose moments they leave alone by giving way to everything.
reckoners() { programs shop | grep -E "/test_(clock_)?histories$"; }
workers() {
    { programs unit store shop http cli; ls tests/tree/*.test.js tests/api/*.test.js tests/browser/*.test.js tests/fault/*.test.js; } |
        grep -vxF -e "$(reckoners; echo tests/api/gate.test.js)" |
        long_first browser/page browser/everyone browser/shop browser/job browser/air api/demo browser/access browser/rough browser/paper browser/mixes browser/finger browser/check browser/line browser/bake browser/tell
}

# run N: what the input names, N at a time.
run() { xargs -P "$1" -n 1 "$BASH" tests/run.sh --suite; }

if [ "${1:-}" = --list ]; then
    sleepers
    reckoners
    workers
    exit
fi

rm -f "$logs"/*.counts
reckoners | SUITE_LIMIT_S=$((SUITE_LIMIT_S * 3)) nice -n 19 xargs -P 2 -n 1 "$BASH" tests/run.sh --suite &
sleepers | run 5
workers | run 3
wait

passed=0 failed=0
while read -r file; do
    read -r ok bad 2>/dev/null <"$(log_of "$file").counts" || { ok=0 bad=1; }
    passed=$((passed + ok)) failed=$((failed + bad))
done < <(sleepers; reckoners; workers)
echo
echo "$passed passed, $failed failed"
[ "$failed" -eq 0 ] && [ "$passed" -gt 0 ]
