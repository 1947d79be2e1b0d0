#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Four faults of the simulated room, each replayed through the whole chain to a
# real receiver: one message when it begins, at most one when it grows worse,
# one when it is over, naming the right cause, no later than patience explains.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
start=1768003200 # 2026-01-10T00:00:00Z: winter, the furnace runs
bad=0

# alarm_once CASE
alarm_once()
{
    start_hook
    "$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/state" \
        --webhook "$hook_url" --every 60 > "$work/room.conf" || fail "conf"
    rm -rf "${work:?}/$1"
    "$daemon" -c "$work/room.conf" --replay "$work/$1.csv" --into "$work/$1" --post \
        > "$work/$1.out" 2> "$work/$1.err" || fail "the replay of $1 failed"
    same 0 "$(find "$work/$1/outbox" -type f | wc -l)" "messages of $1 not delivered"
    stop "$hook_pid"
}

# alarm CASE NAME FROM DURATION DAYS
alarm()
{
    "$roomsim" record --calm --life --seed 5 --start $start --days "$5" \
        --fault "$1:$2:$3:$4" --list "$work/$1.json" > "$work/$1.csv" || fail "record $1"
    unsummed alarm_once "$1"
    cp "$hook_log" "$work/$1.jsonl"
    echo "$1 of $2 for $4"
    python3 "$top_srcdir/tests/reference/alarms.py" "$1" "$work" || bad=$((bad + 1))
}

alarm power-cut room 1d10h 5h 3
alarm stuck-heater M1 1d13h 7h 3
alarm dry-air room 1d18h 16h 4
alarm chattering p1w 1d13h 6h 3
same 0 $bad "alarms not told as they should be"
