#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The same numbers everywhere: page, digest, tables, CSV and JSON of a simulated
# week with real faults, in °C and °F, over a day, three hours, the week, and a
# window that cuts rows; a computed humidity among them.  What is compared, and how: tests/reference/agree.py.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
begin=1792800000
end=$((begin + 8 * 86400))

"$roomsim" record --days 8 --every 60 --seed 7 --start $begin --fault missed-misting:T3:5d:4d \
    --fault dry-air:room:7d:2d --fault silent:t1w:6d:3d --fault stuck-heater:P1:7d:1d \
    > "$work/room.csv" || fail "no recording"
"$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/state" --every 60 \
    > "$work/room.conf" || fail "no configuration"
sed 's/hot_spot { probe = "p2h" }/hot_spot { probe = "p2h"  humidity { day = "20..35 %" } }/' \
    "$work/room.conf" > "$work/plain.conf"
cmp -s "$work/room.conf" "$work/plain.conf" && fail "P2 has no hot spot to compute for"
for units in C F; do
    { echo "units = \"$units\"" && grep -v '^units' "$work/plain.conf"; } > "$work/$units.conf"
done
"$daemon" -c "$work/C.conf" --replay "$work/room.csv" > "$work/replay.out" 2> "$work/replay.err" ||
    fail "the replay failed"
newest=$(($(tail -n 1 "$work/room.csv" | sed 's/,.*//') / 60 * 60))

for units in C F; do
    for window in "$((end - 86400)) $end" "$((end - 93600)) $((end - 82800))" \
        "$begin $((begin + 7 * 86400))" "$((end - 40023)) $((end - 2011))"; do
        # shellcheck disable=SC2086 # $window is two times
        python3 "$top_srcdir/tests/reference/agree.py" "$report" "$work/$units.conf" $window \
            "$newest" > "$work/numbers.out" 2>&1 || fail "$window in $units: the numbers differ"
        cat "$work/numbers.out"
    done
done
