#!/bin/sh
# An invented workshop to try Coatwright on, in a file of its own. `make demo` builds and calls this.
#
#   demo/demo.sh        starts it and loads the shop where there is none yet; a later run keeps everything that was entered
#                       and only adds the air that is missing since
#   demo/demo.sh stop   ends everything that the demo started: daemon, broker, simulated shed
#
# Needs nothing but sh, coreutils, awk and the built programs; with mosquitto the shed publishes too. COAT_DEMO_PORT names
# another port (0: a free one), COAT_DEMO_BROKER another mosquitto program.
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
broker_conf=$folder/broker.conf
broker_pid_file=$folder/broker.pid
broker_log=$folder/broker.log
shed_pid_file=$folder/shed.pid
shed_log=$folder/shed.log
token_file=$folder/gauge.token
entered_sensors=$folder/sensors # the names of those that were entered; one that is gone again was not wanted
busy=$folder/busy
port=${COAT_DEMO_PORT:-8262}
fill_most_s=$((14 * 86400)) # no more missing air than this is invented

say() { printf '%s\n' "$*"; }
fail() {
    say "demo: $*" >&2
    exit 1
}

# ---- processes ----

# Whether process $1 is one of this demo, by a file of the demo among its arguments: a number alone may have gone to another
# process since.
is_ours() {
    [ -r "/proc/$1/cmdline" ] && tr '\0' '\n' <"/proc/$1/cmdline" 2>/dev/null |
        FILE=$file FRESH=$fresh CONF=$broker_conf TOKEN=$token_file awk '
            $0 == ENVIRON["FILE"] || $0 == ENVIRON["FRESH"] || $0 == ENVIRON["CONF"] || $0 == ENVIRON["TOKEN"] {found = 1}
            END {exit !found}'
}

running_pid() { # PID-FILE: prints it; fails where none runs
    [ -r "$1" ] && read -r pid <"$1" && [ -n "$pid" ] && is_ours "$pid" && echo "$pid"
}

end_process() { # PID-FILE LOG
    pid=$(running_pid "$1") || return 0
    kill "$pid" 2>/dev/null || true
    tries=0
    while is_ours "$pid"; do
        [ "$tries" -lt 100 ] || fail "process $pid does not end; its log is $2"
        tries=$((tries + 1))
        sleep 0.1
    done
    rm -f "$1"
}

stop_daemon() {
    end_process "$pid_file" "$log"
}

stop_all() {
    end_process "$shed_pid_file" "$shed_log"
    stop_daemon
    end_process "$broker_pid_file" "$broker_log"
}

# start_away PID-FILE LOG PROGRAM ARG...: sets pid. In a session of its own where that is to be had, so that no terminal takes it along.
start_away() {
    away_pid_file=$1 away_log=$2
    shift 2
    away="nohup"
    if command -v setsid >/dev/null 2>&1; then away="setsid"; fi
    : >"$away_log"
    $away "$@" </dev/null >>"$away_log" 2>&1 3>&- 4>&- 5>&- 6>&- 7>&- 8>&- 9>&- &
    pid=$!
    echo "$pid" >"$away_pid_file"
}

# ---- the daemon ----

# launch FILE PORT: sets url.
launch() {
    url=
    start_away "$pid_file" "$log" "$build/coatd" --db "$1" --listen "127.0.0.1:$2"
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

# A channel that anybody has: what is told from now on stands in a file, a line of JSON each.
enter_channel() {
    coat channel add "notices file" --command -- tee -a "$folder/notices.jsonl"
    say "  what is told from now on goes into $folder/notices.jsonl (coat channel list)"
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
    coat shop set work=17:00-22:00 quiet=22:30-06:30 morning=07:00
    load_shop
    enter_channel
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

# ---- the simulated shed ----

# What may be left out: the shop is there without it.
try_coat() {
    COAT_SERVER=$url "$build/coat" "$@"
}

was_entered() { # SENSOR
    [ -r "$entered_sensors" ] && SENSOR=$1 awk '$0 == ENVIRON["SENSOR"] {found = 1} END {exit !found}' "$entered_sensors"
}

find_broker() {
    if [ -n "${COAT_DEMO_BROKER:-}" ]; then
        command -v "$COAT_DEMO_BROKER"
    else
        command -v mosquitto || command -v /usr/sbin/mosquitto || command -v /usr/local/sbin/mosquitto
    fi
}

# Whoever can reach the loopback of this machine may publish: it is a demo. Started as root it becomes the user mosquitto, which
# cannot read this folder any more and need not.
write_broker_conf() {
    printf '%s\n' "listener $broker_port 127.0.0.1" "allow_anonymous true" "persistence false" "log_dest stderr" >"$broker_conf"
}

broker_is_up() {
    tries=0
    while [ "$tries" -lt 50 ]; do
        if awk '/ running$/ {found = 1} END {exit !found}' "$broker_log"; then return 0; fi
        [ "$tries" -lt 3 ] || is_ours "$pid" || return 1
        tries=$((tries + 1))
        sleep 0.1
    done
    return 1
}

# Sets broker_port, to nothing where there is no broker. Another program may take the free port first: thrice.
start_broker() {
    broker_port=
    if ! broker=$(find_broker); then
        say "There is no mosquitto here: the shed posts its air and does not publish it."
        return
    fi
    for _ in 1 2 3; do
        broker_port=$("$build/demo-shed" --free-port) || break
        write_broker_conf
        start_away "$broker_pid_file" "$broker_log" "$broker" -c "$broker_conf"
        if broker_is_up; then return; fi
        end_process "$broker_pid_file" "$broker_log"
    done
    broker_port=
    say "The broker does not start ($broker_log): the shed posts its air and does not publish it."
}

# The token is told once, and stays in a file that nobody else can read.
enter_gauge() {
    if was_entered "shed gauge"; then return; fi
    told=$(try_coat sensor add "shed gauge" shed --push --position 2 --json) || return 0
    (umask 077 && printf '%s\n' "$told" | sed -n 's/.*"token":"\([^"]*\)".*/\1/p' >"$token_file")
    echo "shed gauge" >>"$entered_sensors"
}

# The broker has another port each time. It counts first, once the shed publishes.
enter_probe() {
    source=mqtt://127.0.0.1:$broker_port/shed/air
    if was_entered "shed probe"; then
        try_coat sensor edit "shed probe" --mqtt "$source" >/dev/null 2>&1 || true # it may have been taken out of use
    elif try_coat sensor add "shed probe" shed --mqtt "$source" --temp-pointer /temp_c --rh-pointer /rh_pct --position 1 >/dev/null; then
        echo "shed probe" >>"$entered_sensors"
    fi
}

start_shed() {
    if [ ! -x "$build/demo-shed" ]; then
        say "demo-shed is not built in $build: nobody reads the air of the shed."
        return
    fi
    enter_gauge
    [ -s "$token_file" ] || return 0 # why was told
    start_broker
    set -- --began "$began" --zone "$(zone_s)"
    if [ -n "$broker_port" ]; then set -- "$@" --broker-port "$broker_port" --topic shed/air; fi
    start_away "$shed_pid_file" "$shed_log" "$build/demo-shed" "$@" --url "$url/api/v1/readings" --token-file "$token_file"
    if [ -n "$broker_port" ]; then enter_probe; fi
    say "  the simulated shed posts its air${broker_port:+, and publishes it to a broker on port $broker_port (topic shed/air)}"
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
        (stop_all) || true
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
    stop_all
    if [ ! -e "$file" ]; then
        load_fresh
        start_daemon "$file"
    else
        resume
    fi
    start_shed
    show_end
}

stop() {
    if ! running_pid "$pid_file" >/dev/null && ! running_pid "$shed_pid_file" >/dev/null && ! running_pid "$broker_pid_file" >/dev/null; then
        say "No demo is running."
        return
    fi
    stop_all
    say "The demo has ended; its shop stays in $file."
}

case ${1:-run} in
run) run ;;
stop) stop ;;
*) fail "\"$1\" is not understood: demo/demo.sh, or demo/demo.sh stop" ;;
esac
