#!/bin/sh
# An invented workshop to try Coatwright on, in a file of its own. `make demo` builds and calls this.
#
#   demo/demo.sh        starts it and loads the shop where there is none yet; a later run keeps everything that was entered
#                       and only adds the air that is missing since
#   demo/demo.sh stop   ends the daemon of the demo
#
# Needs nothing but sh, coreutils, awk and the two built programs. COAT_DEMO_PORT names another port (0: a free one).
set -eu

root=$(cd "$(dirname "$0")/.." && pwd)
build=${COAT_BUILD:-$root/build}
case ${XDG_DATA_HOME:-} in
/*) folder=$XDG_DATA_HOME/coatwright-demo ;;
*) folder=${HOME:?HOME is not set: where would the demo go?}/.local/share/coatwright-demo ;;
esac
file=$folder/shop.coat
fresh=$folder/loading.coat # the shop while it is loaded; becomes $file when all of it is in
pid_file=$folder/coatd.pid
log=$folder/coatd.log
busy=$folder/busy
port=${COAT_DEMO_PORT:-8262}
fill_most_s=$((14 * 86400)) # no more missing air than this is invented

say() { printf '%s\n' "$*"; }
fail() {
    say "demo: $*" >&2
    exit 1
}

# ---- the daemon ----

# Whether process $1 is a coatd on a file of this demo: a number alone may have gone to another process since.
is_ours() {
    [ -r "/proc/$1/cmdline" ] && tr '\0' '\n' <"/proc/$1/cmdline" 2>/dev/null |
        FILE=$file FRESH=$fresh awk '$0 == ENVIRON["FILE"] || $0 == ENVIRON["FRESH"] {found = 1} END {exit !found}'
}

running_pid() { # prints it; fails where none runs
    [ -r "$pid_file" ] && read -r pid <"$pid_file" && [ -n "$pid" ] && is_ours "$pid" && echo "$pid"
}

stop_daemon() {
    pid=$(running_pid) || return 0
    kill "$pid" 2>/dev/null || true
    tries=0
    while is_ours "$pid"; do
        [ "$tries" -lt 100 ] || fail "process $pid does not end; its log is $log"
        tries=$((tries + 1))
        sleep 0.1
    done
    rm -f "$pid_file"
}

# launch FILE PORT: sets url. In a session of its own where that is to be had, so that no terminal takes it along.
launch() {
    url=
    : >"$log"
    away="nohup"
    if command -v setsid >/dev/null 2>&1; then away="setsid"; fi
    $away "$build/coatd" --db "$1" --listen "127.0.0.1:$2" </dev/null >>"$log" 2>&1 3>&- 4>&- 5>&- 6>&- 7>&- 8>&- 9>&- &
    pid=$!
    echo "$pid" >"$pid_file"
    tries=0
    while [ "$tries" -lt 100 ]; do
        url=$(awk '/^coatd: ready on / {print $4; exit}' "$log")
        [ -z "$url" ] || return 0
        [ "$tries" -lt 3 ] || is_ours "$pid" || break
        tries=$((tries + 1))
        sleep 0.1
    done
    kill "$pid" 2>/dev/null || true
    rm -f "$pid_file"
    return 1
}

start_daemon() { # FILE
    if launch "$1" "$port"; then return; fi
    if [ "$port" != 0 ] && awk '/in use/ {found = 1} END {exit !found}' "$log"; then
        say "Port $port is taken by something else: the demo takes a free one."
        port=0
        if launch "$1" "$port"; then return; fi
    fi
    fail "coatd does not start: $(cat "$log")"
}

# ---- what the shop's script uses ----

coat() {
    COAT_SERVER=$url "$build/coat" "$@" >/dev/null || fail "this did not go in: coat $*"
}

when() { # minutes ago, counted from the beginning
    date -u -d "@$((began - $1 * 60))" +%Y-%m-%dT%H:%M:%SZ
}

# enter_air PLACE FROM: hourly to a minute ago, every second hour where that is long past (still measured air by the rules); $folder/entered.PLACE has a line for each reading.
enter_air() {
    invent_air "$1" "$2" | while read -r at temp rh; do
        coat air "$1" "${temp}C" "$rh%" --at "$at"
        echo "$at"
    done >"$folder/entered.$1"
}

invent_air() {
    awk -f "$root/demo/air.awk" -v place="$1" -v from="$2" -v to="$(($(date +%s) - 60))" \
        -v hourly_from="$((began - 4 * 86400))" -v began="$began" -v zone_s="$(zone_s)"
}

# What the shop's clock is ahead of UTC.
zone_s() {
    date +%z | awk '{s = substr($0, 2, 2) * 3600 + substr($0, 4, 2) * 60; print substr($0, 1, 1) == "-" ? -s : s}'
}

# ---- the first run ----

zone_name() { # of this machine; nothing where it does not say
    if [ -n "${TZ:-}" ]; then
        echo "${TZ#:}"
    elif [ -r /etc/timezone ]; then
        cat /etc/timezone
    else
        readlink /etc/localtime | awk -F zoneinfo/ 'NF > 1 {print $2}'
    fi
}

set_zone() {
    zone=$(zone_name)
    if [ -n "$zone" ] && COAT_SERVER=$url "$build/coat" shop set "zone=$zone" >/dev/null 2>&1; then return; fi
    say "This machine does not tell its time zone by name: the shop's times are in UTC (coat shop set zone=...)."
}

drop_fresh() {
    rm -f "$fresh" "$fresh-wal" "$fresh-shm"
}

load_fresh() {
    # shellcheck source=demo/shop.sh
    . "$root/demo/shop.sh"
    began=$(date +%s)
    say "Loading an invented workshop into $file:"
    drop_fresh
    loading=yes
    start_daemon "$fresh"
    set_zone
    coat shop set work=17:00-22:00
    load_shop
    stop_daemon
    echo "$began" >"$folder/began"
    mv "$fresh" "$file"
    loading=
}

# ---- a later run ----

last_reading_s() { # PLACE; nothing where it has no air or is not there
    COAT_SERVER=$url "$build/coat" place show "$1" --json 2>/dev/null |
        awk 'match($0, /"air":[{]"at":"[^"]*"/) {print substr($0, RSTART + 13, RLENGTH - 14); exit}' |
        { read -r at && date -u -d "$at" +%s; } || true
}

# The last reading is some hours old, or of another day: what the air did since is made up, hour by hour.
fill_air() { # PLACE
    last=$(last_reading_s "$1")
    now=$(date +%s)
    [ -n "$last" ] && [ $((now - last)) -gt 1000 ] || return 0
    from=$((last + 900))
    [ "$from" -gt $((now - fill_most_s)) ] || from=$((now - fill_most_s))
    enter_air "$1" "$from"
    say "  missing air of the $1: $(awk 'END {print NR}' "$folder/entered.$1") readings since $(date -d "@$last" '+%a %d %b %H:%M')"
}

resume() {
    began=$(cat "$folder/began" 2>/dev/null) || began=$(date +%s)
    say "The workshop of an earlier run goes on ($file); nothing is loaded again."
    start_daemon "$file"
    for place in shed cabinet lean-to; do
        fill_air "$place"
    done
}

# ---- run ----

show_end() {
    coat_word="build/coat"
    if [ "$url" != "http://127.0.0.1:8262" ]; then coat_word="COAT_SERVER=$url build/coat"; fi
    say ""
    COAT_SERVER=$url "$build/coat"
    say ""
    say "The page:       $url/"
    say "A first coat:   $coat_word log \"fan blades\" spray --at \"5 min ago\""
    say "                $coat_word show \"fan blades\""
    say "To stop it:     demo/demo.sh stop    (make demo goes on with this shop; to begin anew, remove $folder)"
}

clean_up() {
    status=$?
    trap - EXIT INT TERM HUP PIPE
    if [ -n "$loading" ]; then
        (stop_daemon) || true
        drop_fresh
        say "demo: the shop was not loaded; what was begun of it is removed." >&2
    fi
    rm -f "$busy" "$folder"/entered.*
    exit "$status"
}

# Two at once would stop each other's daemon.
take_turn() {
    while ! ln -s "$$" "$busy" 2>/dev/null; do
        other=$(readlink "$busy") || fail "$folder cannot be written to"
        if kill -0 "$other" 2>/dev/null; then fail "another demo is just being set up (process $other)"; fi
        rm -f "$busy"
    done
    loading=
    trap clean_up EXIT
    trap 'exit 130' INT TERM HUP PIPE
}

run() {
    if [ ! -x "$build/coatd" ] || [ ! -x "$build/coat" ]; then fail "coatd and coat are not built in $build: make"; fi
    (umask 077 && mkdir -p "$folder")
    take_turn
    stop_daemon
    if [ ! -e "$file" ]; then
        load_fresh
        start_daemon "$file"
    else
        resume
    fi
    show_end
}

stop() {
    if ! running_pid >/dev/null; then
        say "No demo is running."
        return
    fi
    stop_daemon
    say "The demo has ended; its shop stays in $file."
}

case ${1:-run} in
run) run ;;
stop) stop ;;
*) fail "\"$1\" is not understood: demo/demo.sh, or demo/demo.sh stop" ;;
esac
