#!/bin/sh
# The probe of a place of the demo, as a command that a sensor runs: prints the invented air of this moment as JSON.
#
#   demo/probe.sh PLACE BEGAN ZONE_S      see air.awk
set -eu

folder=$(dirname "$0")
now=$(date +%s)
awk -f "$folder/air.awk" -v place="$1" -v from="$now" -v to="$now" -v began="$2" -v zone_s="$3" |
    awk '{line = $0} END {split(line, part, " "); printf "{\"temp_c\": %s, \"rh_pct\": %s}\n", part[2], part[3]}'
