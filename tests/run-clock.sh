#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A computer that wakes up with yesterday's clock: its archives end in the
# future.  The daemon says so, goes on judging and posting, and leaves the
# archive as it is.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
start_hook
start_room --every 1 --fault stuck-heater:M1:-12h:2d
echo 'gather = "0s"' > "$work/room.conf"
"$roomsim" conf --rack "$rack" --board "$board" --state "$work/state" --every 1 \
    --webhook "$hook_url" >> "$work/room.conf" || fail "no configuration"
tomorrow=$(($(date +%s) / 60 * 60 + 86400))
{
    echo time,probe,temperature,humidity
    for second in 0 1 2 3 61 62 63; do
        echo "$((tomorrow + second)),m1w,31.0,60"
    done
} > "$work/future.csv"
"$daemon" -c "$work/room.conf" --replay "$work/future.csv" 2> "$work/replay.err" ||
    fail "the replay failed"
before=$(cksum < "$work/state/archive/M1.rrd")

start daemon "$daemon" -c "$work/room.conf"
daemon_pid=$started_pid
wait_until 20 grep -q "the clock went back" "$work/daemon.err" || fail "nothing is said of the clock"
wait_until 20 hook_count 1 || fail "alerts stop while the clock is behind"
stop "$daemon_pid"
same "$before" "$(cksum < "$work/state/archive/M1.rrd")" "the archive"
