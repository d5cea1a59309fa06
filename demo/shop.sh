# The invented workshop: two people's evenings on cast-iron coffee mills, desk fans and platform scales. Read by demo.sh,
# which gives coat(), when(), enter_air() and $began, the moment of loading. Everything goes in through the command line,
# as a person would enter it.
#
# The coats are set back from now so that the page shows a bit of everything at whatever hour the demo begins. A piece is
# logged from its lowest coat upwards, each with the place in which it hung then.

# shellcheck shell=sh disable=SC2154
HOUR=60 DAY=1440 # in minutes

load_places() {
    coat place add shed --volume 60m3 --airflow 300m3h --risk attached=yes --risk below-ground=no --risk lived-in=no \
        --risk pilot-or-furnace=no --risk open-flame-heater=no --risk fan-motor-in-stream=no --risk electronics-near=no
    # An electric panel heater has no flame, but a switch and a hot face: electronics-near stays unanswered here.
    coat place add cabinet --kind cabinet --volume 2.2m3 --risk attached=yes --risk below-ground=no --risk lived-in=no \
        --risk pilot-or-furnace=no --risk open-flame-heater=no --risk fan-motor-in-stream=no
    coat place add lean-to --volume 25m3 --risk attached=no --risk below-ground=no --risk lived-in=no \
        --risk pilot-or-furnace=no --risk open-flame-heater=no --risk fan-motor-in-stream=no --risk electronics-near=no
    coat place add oven --kind oven --volume 120l --airflow 20m3h --airflow-measured yes --risk attached=no --risk below-ground=no \
        --risk lived-in=no --risk pilot-or-furnace=no --risk open-flame-heater=no --risk fan-motor-in-stream=no --risk electronics-near=no
}

# A fortnight in the shed, what the coats in the other two need there.
load_air() {
    enter_air shed $((began - 14 * 86400)) &
    shed=$!
    enter_air cabinet $((began - 60 * 3600)) &
    cabinet=$!
    enter_air lean-to $((began - 48 * 3600))
    wait "$shed"
    wait "$cabinet"
}

load_materials() {
    coat material add "machine grey" --class alkyd-enamel --at 20C --rh 50% --touch 3h --handle 24h --recoat "after 16h" \
        --cure 14d --film 35um --min-temp 10C --max-rh 80% --hazard solvent=yes --hazard flammable=yes \
        --hazard self-heating=yes
}

load_pieces() {
    coat piece add "mill body" --old-finish "tested clear" --mass 9kg --wall 6mm
    coat piece add "mill wheel" --old-finish "tested clear" --mass 4kg
    coat piece add "mill hopper" --old-finish "tested clear" --mass 1.2kg
    coat piece add "mill crank" --old-finish "tested clear" --note "small; japan, to be baked"
    coat piece add "mill lid" --old-finish "tested clear" --wall 3mm
    coat piece add "fan base" --old-finish "tested clear" --mass 2.5kg
    coat piece add "fan cage" --old-finish "tested clear"
    coat piece add "fan blades" --old-finish "tested clear"
    coat piece add "fan housing" --note "found under two layers of green; test for lead before sanding"
    coat piece add "scale beam" --old-finish "tested clear" --mass 3kg
    coat piece add "scale pillar" --old-finish "tested clear" --mass 11kg --wall 9mm
    coat piece add "scale platform" --old-finish lead --mass 16kg --wall 8mm
    coat piece add "mill two body" --old-finish "tested clear"
    coat piece add "mill two wheel" --old-finish "tested clear"
    coat move "fan blades" shed --at "$(when $((3 * DAY)))"
    coat move "fan housing" shed --at "$(when $((3 * DAY)))"
    coat rack add "mill two" "mill two body,mill two wheel"
}

# log PIECE MATERIAL PLACE MINUTES-AGO [OPTION...]
log() {
    piece=$1 material=$2 place=$3 ago=$4
    shift 4
    coat log "$piece" "$material" --place "$place" --at "$(when "$ago")" "$@"
}

load_coats() {
    # Several coats on one another; the last one waits to be handled.
    log "mill body" "primer, alkyd" shed $((9 * DAY))
    log "mill body" "gloss enamel" shed $((5 * DAY)) --film light
    log "mill body" "gloss enamel" shed $((20 * HOUR)) --note "second black coat"

    # Its recoat window is about to close.
    log "mill wheel" "primer, alkyd" shed $((6 * DAY))
    coat log "mill wheel" "spray enamel" --place shed --from "$(when 38)" --to "$(when 33)" --passes 3

    # A decal over cured enamel.
    log "mill hopper" "gloss enamel" shed $((11 * DAY))
    log "mill hopper" transfer cabinet $((15 * HOUR))

    # Flashed off: it may go into the oven.
    log "mill crank" "baking japan" cabinet $((7 * HOUR)) --amount 15ml

    # Baked two days ago.
    log "mill lid" "baking japan" cabinet $((55 * HOUR)) --amount 20ml

    # Open at any time from here on.
    log "fan base" "primer, alkyd" shed $((3 * DAY))

    # Sprayed this afternoon or last night: the forbidden middle.
    log "fan cage" "primer, alkyd" shed $((8 * DAY))
    log "fan cage" "spray enamel" shed $((4 * HOUR)) --passes 2 --film light

    # Adhesive size: the finger test is on.
    log "scale beam" "gloss enamel" shed $((12 * DAY))
    log "scale beam" "slow oil size" cabinet $((14 * HOUR)) --note "for the gold lines"

    # Epoxy past its open hours: wipe first, later scuff.
    log "scale pillar" "epoxy primer" cabinet $((12 * HOUR)) --amount 60ml

    # Too cold out there.
    log "scale platform" "primer, alkyd" lean-to $((18 * HOUR))

    # A whole rack, in a material of the shop's own.
    log "mill two" "machine grey" shed $((6 * HOUR))
}

# One that is over, and one under review: half of its questions are open.
load_bakes() {
    coat bake log "mill lid" oven --from "$(when $((46 * HOUR)))" --to "$(when $((42 * HOUR)))" --step 149C,2h --wall 3mm --fan \
        --note "black, even; no soft spots"
    coat bake check "mill crank" oven --step 149C,2h --wall 5mm --fan --yes degreased,flashed-off,looked-over,old-finish-clear,cut-out \
        --no sealed-hollow,food-oven,open-element-or-pilot,oven-below-ground
}

# Two have a probe that is asked; the shed's instruments speak by themselves (start_shed in demo.sh).
load_sensors() {
    for place in cabinet lean-to; do
        coat sensor add "$place probe" "$place" --temp-pointer /temp_c --rh-pointer /rh_pct --every 5min \
            --command -- "$root/demo/probe.sh" "$place" "$began" "$(zone_s)"
    done
}

load_shop() {
    load_places
    echo "  a fortnight of air in three places, probes in two of them"
    load_air
    load_sensors
    echo "  pieces, a material from its label, the coats of twelve days"
    load_materials
    load_pieces
    load_coats
    load_bakes
}
