#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Neither crying wolf nor sleeping: healthy days of twelve enclosures, with
# cleanings, open doors, late mistings and noisy probes, and then days with real
# faults at known moments, through the whole chain to a real receiver.  30
# healthy days and 28 with four faults; LONG=1: three healthy years of different weather and
# a year with 50 faults.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
year=$top_srcdir/tests/reference/year.py
seed=1 seeds=1 healthy=30 faulty=28 faults=4
if [ -n "${LONG:-}" ]; then
    seeds="3 2 1" healthy=365 faulty=365 faults=50
fi

recording()
{
    "$roomsim" record --calm --life --seed $seed "$@"
}

# once NAME OPTIONS OF roomsim record...
once()
{
    name=$1
    shift
    start_hook
    "$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/$name" \
        --webhook "$hook_url" --every 60 > "$work/room.conf" || fail "conf"
    rm -rf "${work:?}/$name" "$work/$name.csv"
    mkfifo "$work/$name.csv"
    recording "$@" > "$work/$name.csv" 2> "$work/record.err" &
    "$daemon" -c "$work/room.conf" --replay "$work/$name.csv" --post > "$work/$name.out" \
        2> "$work/$name.err" || fail "the replay of the $name days failed"
    wait $! || fail "no recording"
    same 0 "$(find "$work/$name/outbox" -type f | wc -l)" "messages not delivered"
    stop "$hook_pid"
}

# through NAME OPTIONS OF roomsim record...: what the receiver gets is $work/NAME.jsonl
through()
{
    unsummed once "$@"
    mv "$hook_log" "$work/$1.jsonl"
}

bad=0
for seed in $seeds; do
    through healthy-$seed --days $healthy
    python3 "$year" healthy "$work/healthy-$seed.jsonl" $healthy || bad=1
done
through faulty --days $faulty --faults $faults --list "$work/faults.json"
recording --days $faulty --faults $faults |
    python3 "$year" faulty "$work/faulty.jsonl" $faulty "$work/faults.json" "$work/room.conf" ||
    bad=1
same 0 $bad "what was told is not what was to be told"
