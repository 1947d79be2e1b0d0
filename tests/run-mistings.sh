#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Mistings found in what the probes of a simulated room say, through the whole
# chain, against those that took place: two weeks of twelve enclosures with
# cleanings, open doors, late mistings, noisy probes and some that were sprayed, in
# minute rows and in ten-minute rows.  LONG=1: a year, and 70 days of each of two
# more rooms; it takes three minutes and 2 GB.
. "${top_srcdir:-.}/tests/lib.sh"
plain_only
need python3
begin=1767225600 rooms=1:14 # SEED:DAYS
[ -z "${LONG:-}" ] || rooms="1:365 5:70 9:70"

# found ROWS ARCHIVE: mistings found when such rows reach back to the beginning
found()
{
    "$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/state" \
        --webhook http://127.0.0.1:9/ --every 60 > "$work/room.conf" || fail "conf"
    echo "archive { $2 }" >> "$work/room.conf"
    "$daemon" -c "$work/room.conf" --replay "$work/room.csv" > "$work/replay.out" \
        2> "$work/replay.err" || fail "the replay failed"
    "$top_builddir/tests/find_mistings" "$work/room.conf" $begin $((begin + days * 86400)) \
        > "$work/found" || fail "nothing was looked for"
    rm -r "$work/state"
    echo "room $seed, $days days, $1"
    python3 "$top_srcdir/tests/reference/mistings.py" "$work/list.json" "$work/found" "$days" ||
        bad=1
}

bad=0
for room in $rooms; do
    seed=${room%:*} days=${room#*:}
    "$roomsim" record --calm --life --seed "$seed" --start $begin --days "$days" --every 60 \
        --list "$work/list.json" > "$work/room.csv" || fail "no recording"
    found minutes 'minutes = "366d"  ten_minutes = "370d"  hours = "380d"'
    found ten-minutes 'minutes = "1d"  ten_minutes = "370d"  hours = "380d"'
done
same 0 $bad "what is found is not what took place"
