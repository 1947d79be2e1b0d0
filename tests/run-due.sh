#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Mistings that are due: two weeks of a simulated room that is misted every day, in
# which nobody is told, then a week in which some enclosures are not, and their keeper
# is told once, hours before each leaves its band.  LONG=1: more rooms.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
begin=1767225600 fault=$((1767225600 + 14 * 86400)) lead=6 seeds=1
[ -z "${LONG:-}" ] || seeds="1 2 3 4 5 6"
due=$top_srcdir/tests/reference/due.py

# conf STATE [KEY]
conf()
{
    "$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$1" --every 60 \
        > "$work/room.conf" || fail "conf"
    echo "archive { minutes = \"1d\"  ten_minutes = \"2d\"  hours = \"3d\" } ${2:-}" \
        >> "$work/room.conf"
}

replay()
{
    "$daemon" -c "$work/room.conf" --replay "$work/room.csv" > "$work/replay.out" \
        2> "$work/replay.err" || fail "the replay failed"
}

bad=0 plain="T1 T3 P1"
for seed in $seeds; do
    "$roomsim" record --calm --seed "$seed" --start $begin --days 21 --every 60 \
        --fault missed-misting:T3:14d:5d --fault missed-misting:T1:14d:7d \
        --fault missed-misting:M1:15d:6d --fault missed-misting:P1:14d:7d \
        > "$work/room.csv" || fail "no recording"
    mkdir -p "$work/$seed" || exit 99
    # As of the middle, so that it is not too old at the end.
    python3 "$due" laws "$work/room.csv" $((begin + 7 * 86400)) > "$work/$seed/dryings.jsonl" ||
        fail "no laws"
    conf "$work/$seed" "misting_due = \"${lead}h\""
    replay
    echo "room $seed"
    # shellcheck disable=SC2086
    python3 "$due" check "$work/room.csv" "$work/$seed/alerts.jsonl" $lead $fault $plain || bad=1
    plain=T1 # in other rooms T3 and P1 graze their edges for a day first
    grep "would send: Misting due: Third tub will be too dry about [MTWFS][a-z]* [0-2][0-9]:[0-5]0  (to [a-z ,]*)$" \
        "$work/replay.out" || fail "no message of T3 is shown"
done
same 0 $bad "mistings due not told as they should be"

# How it is read, and that nothing of it is told any more once it is too dry.
"$report" -c "$work/room.conf" alerts --from $begin --to $((fault + 7 * 86400)) > "$work/alerts.out"
grep -q "raised .*T3.*misting due: too dry about" "$work/alerts.out" || fail "alerts does not say it"
grep -q "reminded .*misting due" "$work/alerts.out" && fail "it was reminded"

# Without the key, with all else the same, nothing is said.
mkdir -p "$work/none" && cp "$work/$seed/dryings.jsonl" "$work/none" || exit 99
conf "$work/none"
replay
grep -q "Misting due" "$work/replay.out" && fail "told without being asked"
grep -q '"misting_due"' "$work/none/alerts.jsonl" && fail "logged without being asked"
exit 0
