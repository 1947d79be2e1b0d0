#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Mistings found in what the probes of a simulated room say, through the whole
# chain, against those that took place: two weeks of twelve enclosures with
# cleanings, open doors, late mistings and noisy probes, in minute rows and in
# ten-minute rows.  LONG=1: 70 days of each of three rooms.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
begin=1767225600 days=14 seeds=1
[ -z "${LONG:-}" ] || days=70 seeds="1 5 9"

# found SEED ROWS ARCHIVE: mistings found when such rows reach back to the beginning
found()
{
    "$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/$1-$2" \
        --webhook http://127.0.0.1:9/ --every 60 > "$work/room.conf" || fail "conf"
    echo "archive { $3 }" >> "$work/room.conf"
    "$daemon" -c "$work/room.conf" --replay "$work/$1.csv" > "$work/replay.out" \
        2> "$work/replay.err" || fail "the replay failed"
    "$top_builddir/tests/find_mistings" "$work/room.conf" $begin $((begin + days * 86400)) \
        > "$work/found" || fail "nothing was looked for"
    echo "room $1, $2"
    python3 "$top_srcdir/tests/reference/mistings.py" "$work/$1.json" "$work/found" $days ||
        bad=1
}

bad=0
for seed in $seeds; do
    "$roomsim" record --calm --life --seed "$seed" --start $begin --days $days --every 60 \
        --list "$work/$seed.json" > "$work/$seed.csv" || fail "no recording"
    found "$seed" minutes 'minutes = "80d"  ten_minutes = "80d"  hours = "90d"'
    found "$seed" ten-minutes 'minutes = "1d"  ten_minutes = "80d"  hours = "90d"'
done
same 0 $bad "what is found is not what took place"
