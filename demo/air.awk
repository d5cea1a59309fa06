# The invented air of the demo: one line a reading, "2026-11-25T09:00:00Z 17.3 61.2" (UTC, C, % RH), each full hour from
# `from` to `to` (before `hourly_from` each second one) and one at `to` itself. The same moment always has the same air,
# so a later run goes on where an earlier one left off.
#
#   awk -f air.awk -v place=shed -v from=S -v to=S -v hourly_from=S -v began=S -v zone_s=S
#
# Moments are seconds since the epoch; `began` is when the shop was first loaded, `zone_s` what the shop's clock is ahead
# of UTC. All figures below are invented: an insulated shed in a cool season, an unheated lean-to, a drying cabinet.

function hash(n) # 0 to 1, by the sine trick: the same for every awk
{
    n = sin(n * 12.9898 + 4.1414) * 43758.5453
    return n - int(n) + (n < 0)
}
function bump(x) { return exp(-x * x) }
function floor(x) { return x < 0 && x != int(x) ? int(x) - 1 : int(x) }
function kept(x, least, most) { return x < least ? least : x > most ? most : x }
function wave(hour, warmest) { return cos((hour - warmest) * 2 * PI / 24) }

# A cold front six and a half days before the shop was loaded, and one every thirteen days from there on.
function front(day, x)
{
    x = (day + 6.5) / 13
    return bump((x - floor(x + 0.5)) * 13 / 1.1)
}

# The panel heater is on from 17 to 22; its warmth comes within the hour and goes in two or three.
function heater(hour)
{
    if (hour >= 17 && hour < 22)
        return 3.2 * (1 - exp(-(hour - 17) / 0.8))
    return 3.2 * exp(-((hour + 24 - 22) % 24) / 2.2)
}

# Some nights are damp: the clear ones, by the throw of a die.
function damp(local, night)
{
    night = floor(local / 86400 - 0.6)
    return hash(night) > 0.55 ? 13 * bump((local / 86400 - night - 1.2) / 0.16) : 0
}

function shed(t, day, local, hour)
{
    temp = 16.9 + 0.8 * sin(day / 1.7) + 1.5 * wave(hour, 15) + heater(hour) - 6.5 * front(day) + 0.4 * (hash(t / 3600) - 0.5)
    rh = 61 - 2.4 * (temp - 17) + damp(local) + 4 * front(day) + 3 * (hash(t / 3600 + 0.5) - 0.5)
    if (day > -1.5 && day < 0.1) # what the shop's fresh coats need to be where the demo wants them
        temp = kept(temp, 15.6, 40)
    rh = kept(rh, 35, day > -1.5 && day < 0.1 ? 78 : 92)
}

function lean_to(t, day, local, hour)
{
    temp = kept(5.8 + 2.2 * wave(hour, 15) + sin(day / 1.7) - 3 * front(day) + 0.4 * (hash(t / 3600 + 7) - 0.5), -4, 9.2)
    rh = kept(76 - 2 * (temp - 6) + damp(local) / 2 + 3 * (hash(t / 3600 + 7.5) - 0.5), 50, 94)
}

function cabinet(t)
{
    temp = 23.2 + 0.6 * (hash(t / 3600 + 3) - 0.5)
    rh = 44 + 3 * (hash(t / 3600 + 3.5) - 0.5)
}

# Days since the epoch to a date (Gregorian, from 1970 on).
function stamp(t, d, era, doe, yoe, doy, mp, m)
{
    d = int(t / 86400) + 719468
    era = int(d / 146097)
    doe = d - era * 146097
    yoe = int((doe - int(doe / 1460) + int(doe / 36524) - int(doe / 146096)) / 365)
    doy = doe - (365 * yoe + int(yoe / 4) - int(yoe / 100))
    mp = int((5 * doy + 2) / 153)
    m = mp < 10 ? mp + 3 : mp - 9
    return sprintf("%04d-%02d-%02dT%02d:%02d:%02dZ", yoe + era * 400 + (m <= 2), m, doy - int((153 * mp + 2) / 5) + 1,
                   int(t % 86400 / 3600), int(t % 3600 / 60), t % 60)
}

function say(t, day, local, hour)
{
    day = (t - began) / 86400
    local = t + zone_s
    hour = local % 86400 / 3600
    if (place == "shed")
        shed(t, day, local, hour)
    else if (place == "lean-to")
        lean_to(t, day, local, hour)
    else
        cabinet(t)
    printf "%s %.1f %.1f\n", stamp(t), temp, rh
}

BEGIN {
    PI = atan2(0, -1)
    from += 0; to += 0; hourly_from += 0; began += 0; zone_s += 0
    for (t = from + (3600 - from % 3600) % 3600; t < to; t += t < hourly_from ? 7200 : 3600)
        say(t)
    if (to >= from)
        say(to)
}
