#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The configuration changes as it does over the years: places, quantities,
# probes, species, numbers of rows, names.  What the totals said of the days
# before stays said, and what comes after is archived under the new one.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
start=1767225600 # 2026-01-01T00:00:00Z
day=86400
cat > "$work/species.conf" << END
species "moist snake" { cool_side { humidity { day = "60..80 %"  patience = "6h"  source = "written for this test" } } }
species "dry snake" { cool_side { humidity { day = "20..45 %"  patience = "6h"  source = "written for this test" } } }
END

# write_conf NAME SPECIES WARM COOL ARCHIVE [MORE]: probes "a" and "c" give both quantities,
# "b" a temperature alone; without COOL there is no such place; MORE is a place of T9.
write_conf()
{
    conf_cool=${4:+"cool_side { probe = \"$4\" }"}
    cat << END
include("species.conf")
state = "$work/state"
archive { $5 }
bus "board" { port = "$work/none"  speaks = "lines"  line = "{probe},{temperature},{humidity}"  every = "2min" }
bus "wire" { port = "$work/nothing"  speaks = "lines"  line = "{probe},{temperature}"  every = "2min" }
probe "a" { bus = "board" }
probe "c" { bus = "board" }
probe "b" { bus = "wire" }
enclosure "$1" { species = "$2"
  warm_side { probe = "$3"  temperature { day = "26..30 C"  patience = "1h" } }
  $conf_cool
}
enclosure "T9" { warm_side { probe = "b"  temperature { day = "20..22 C"  patience = "1h" } } ${6:-} }
END
}

# record FROM TO: days since the start; values that stray in waves.
record()
{
    python3 - "$start" "$1" "$2" << 'END' > "$work/rows.csv"
import math, sys
start, first, last = int(sys.argv[1]), float(sys.argv[2]), float(sys.argv[3])
print('time,probe,temperature,humidity')
for minute in range(int(first * 1440), int(last * 1440), 2):
    for shift, probe in enumerate('abc'):
        t = start + 60 * minute + 7 * shift
        warm = 27 + 3 * math.sin(t / 5000 + shift)
        air = '' if probe == 'b' else '%.2f' % (55 + 15 * math.sin(t / 9000 + shift))
        print('%d,%s,%.2f,%s' % (t, probe, warm, air))
END
}

# go_on DAYS: with $work/room.conf, from where the last one ended.
now=0
go_on()
{
    record "$now" "$((now + $1))"
    now=$((now + $1))
    "$daemon" -c "$work/room.conf" --replay "$work/rows.csv" > "$work/replay.out" \
        2> "$work/replay.err" || fail "the recording is refused: $(cat "$work/replay.err")"
}

# totals FROM TO CONF: of days.
totals()
{
    "$report" -c "$3" totals --format json --from $((start + $1 * day)) --to $((start + $2 * day)) ||
        fail "no totals"
}

# expect WHAT OLD NEW NAME: each series that OLD has of enclosure T3, and the configuration
# still names, is in NEW as it was, under that name.  A mean may differ by a hair: in longer rows a minute of which only a
# part is known weighs as much as any.
expect()
{
    python3 - "$2" "$3" "$4" << 'END' || fail "$1: other totals than before"
import json, sys
def series(path, name):
    for enclosure in json.load(open(path))['enclosures']:
        if enclosure['name'] == name:
            return {(p['place'], p['quantity']): p for p in enclosure['places']}
    sys.exit('no %s in %s' % (name, path))
old, new = series(sys.argv[1], 'T3'), series(sys.argv[2], sys.argv[3])
assert ('warm_side', 'temperature') in old.keys() & new.keys()
for key in old.keys() & new.keys():
    for what, value in old[key].items():
        found = new[key][what]
        hair = 1e-3 if what == 'mean' else 1e-6
        if value != found and not (isinstance(value, float) and abs(value - found) < hair):
            sys.exit('%s: %s was %s and is %s' % (key, what, value, found))
END
}

# known FROM TO PLACE QUANTITY [NAME]: s of that window that are known, with the room.conf.
known()
{
    totals "$1" "$2" "$work/room.conf" > "$work/known"
    python3 - "$work/known" "$3" "$4" "${5:-T3}" << 'END'
import json, sys
all = json.load(open(sys.argv[1]))
for enclosure in all['enclosures']:
    for p in enclosure['places']:
        if (enclosure['name'], p['place'], p['quantity']) == (sys.argv[4], *sys.argv[2:4]):
            print('%.0f' % (all['to'] - all['from'] - p['unknown_seconds']))
END
}

# ---- four days as they were ---------------------------------------------------------
few='minutes = "2d"  ten_minutes = "3d"  hours = "30d"'
many='minutes = "9d"  ten_minutes = "20d"  hours = "90d"'
rows='minutes = "1d"  ten_minutes = "9d"  hours = "30d"'
write_conf T3 "moist snake" a c "$few" > "$work/room.conf"
go_on 4
totals 0 4 "$work/room.conf" > "$work/all"           # hours
totals 3 4 "$work/room.conf" > "$work/last"          # minutes, and ten of them later on
same 345480 "$(known 0 4 cool_side humidity)" "seconds known at first"
stays()
{
    for stays_from in 0:all 3:last; do
        totals "${stays_from%:*}" 4 "$work/room.conf" > "$work/totals.now"
        expect "$1, ${stays_from#*:}" "$work/${stays_from#*:}" "$work/totals.now" "${2:-T3}"
    done
}
file_size()
{
    stat -c %s "$work/state/archive/T3.rrd"
}

# ---- rows: longer, then shorter ------------------------------------------------------
size_before=$(file_size)
write_conf T3 "moist snake" a c "$many" > "$work/room.conf"
go_on 1
stays "longer rows"
size_long=$(file_size)
[ "$size_long" -gt $((3 * size_before)) ] || fail "the rows are no longer"
write_conf T3 "moist snake" a c "$rows" > "$work/room.conf"
go_on 1
stays "shorter rows"
[ "$(file_size)" -lt $((size_long / 2)) ] || fail "the rows are no shorter"
same "" "$(find "$work/state/archive" -name '*.rrd?*')" "left in the archive folder"

# ---- another species, another probe, and a place and a quantity that are new -----------
# Then is judged by the bands of then, now by those of now; a place begins at a full hour.
write_conf T3 "dry snake" b c "$rows" 'cool_side { probe = "a" }' > "$work/room.conf"
go_on 1
stays "another species and probe"
totals 6 7 "$work/room.conf" > "$work/dry"
python3 - "$work/dry" "$work/last" << 'END' || fail "the new band is not judged by"
import json, sys
dry, moist = (next(p for p in json.load(open(path))['enclosures'][0]['places']
                   if (p['place'], p['quantity']) == ('cool_side', 'humidity')) for path in sys.argv[1:])
assert dry['high_seconds'] > 40000 and dry['low_seconds'] == 0, dry
assert moist['low_seconds'] > 40000, moist
END
[ "$(known 6 7 warm_side temperature)" -gt $((day - 200)) ] || fail "nothing of the other probe"
known_then=$(known 6 7 cool_side humidity T9)
[ "$known_then" -gt $((day - 4000)) ] || fail "of the new place only $known_then s are known"
[ "$(known 4 5 warm_side temperature T9)" -gt $((day - 200)) ] || fail "the old place's history is gone"

# ---- a place removed, and there again: its history with it -----------------------------
write_conf T3 "dry snake" b "" "$rows" > "$work/room.conf"
go_on 1
same "" "$(known 7 8 cool_side humidity)" "a place without a probe in the totals"
stays "a place away"
write_conf T3 "dry snake" b c "$rows" > "$work/room.conf"
go_on 1
stays "a place there again"
same 0 "$(known 7 8 cool_side humidity)" "what is known of the day without a probe"
[ "$(known 8 9 cool_side humidity)" -gt $((day - 200)) ] || fail "nothing of the place that is there again"

# ---- another name -----------------------------------------------------------------------
cp "$work/room.conf" "$work/live.conf"
start daemon "$daemon" -c "$work/live.conf"
daemon_pid=$started_pid
wait_until 20 grep -q "^watching " "$work/daemon.err" || fail "the daemon does not begin"
grep -q "has no archive yet" "$work/daemon.err" && fail "a name is missed where none has changed"
write_conf T4 "dry snake" b c "$rows" > "$work/room.conf"
cp "$work/room.conf" "$work/live.conf"
kill -HUP "$daemon_pid"
wait_until 20 grep -q '"T4" has no archive yet' "$work/daemon.err" || fail "a reload does not miss T3"
stop "$daemon_pid"
same 0 "$stop_status" "the exit status"
start daemon "$daemon" -c "$work/live.conf"
wait_until 20 grep -q "^watching " "$work/daemon.err" || fail "the daemon does not begin again"
advice=$(sed -n 's/.*"T4" has no archive yet.*run "\(mv [^"]*\)" and start it again$/\1/p' "$work/daemon.err")
stop "$started_pid"
[ -n "$advice" ] || fail "a start does not say what keeps the history of T3"
sh -c "$advice" || fail "what is advised cannot be done: $advice"
go_on 1
stays "another name" T4
[ "$(known 9 10 cool_side humidity T4)" -gt $((day - 200)) ] || fail "nothing under the new name"
same "" "$(find "$work/state/archive" -name 'T3*')" "files under the old name"
