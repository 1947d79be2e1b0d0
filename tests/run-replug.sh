#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A port that vanishes and comes back under another name behind its symlink:
# readings resume within 5 s of its return, the other bus misses no poll, the
# gap is unknown time.
. "${top_srcdir:-.}/tests/lib.sh"
need python3

# The rack and the board are two rooms, so that one can be unplugged alone.
rack=$work/rack board=$work/board
start board "$roomsim" serve --rack "$work/unused" --board "$board" --every 1
plug()
{
    start rack "$roomsim" serve --rack "$rack" --board "$work/unused2" --every 1
    rack_pid=$started_pid
    wait_until 20 test -e "$rack" || fail "no rack"
}
plug
wait_until 20 test -e "$board" || fail "no board"
"$roomsim" conf --rack "$rack" --board "$board" --state "$work/state" --every 1 > "$work/room.conf"
start daemon "$daemon" -c "$work/room.conf"
daemon_pid=$started_pid

# show PROBE: its readings so far and the time of the latest
show()
{
    python3 -c "
import json
n = json.load(open('$work/state/now.json'))
print(*[(p['read'], p['time'] or 0) for p in n['probes'] if p['name'] == '$1'][0])" \
        2> /dev/null || echo 0 0
}
count()
{
    show "$1" | cut -d ' ' -f 1
}
more_than()
{
    [ "$(count "$1")" -gt "$2" ]
}
wait_until 30 more_than t3c 3 || fail "no readings at first"
first=$(readlink "$rack")
board_before=$(show t1w)

stop "$rack_pid" KILL
rm -f "$rack" # as the device manager does
gone_at=$(date +%s.%N)
lost()
{
    [ "$(grep -c '^warning: bus "rack"' "$work/daemon.err")" -ge 1 ]
}
wait_until 10 lost || fail "the loss is not logged"
# Somebody else takes the freed name, so that the port comes back as another.
start taker python3 -c "
import os, pty, time
held = [pty.openpty()]
while os.ttyname(held[-1][1]) != '$first' and len(held) < 200: held.append(pty.openpty())
print('taken', flush=True)
time.sleep(600)"
wait_until 10 grep -q taken "$work/taker.out" || fail "nobody takes the freed name"
sleep 7 # the gap: longer than 3 x every, and than now.json is old
rack_before=$(count t3c)
plug
[ "$(readlink "$rack")" != "$first" ] || fail "the port came back under its old name"
back_at=$(date +%s.%N)
wait_until 20 more_than t3c $((rack_before + 6)) || fail "no readings after the return"
rack_after=$(show t3c)
board_after=$(show t1w)
stop "$daemon_pid"
"$report" -c "$work/room.conf" totals --format json --from "$((${gone_at%.*} - 600))" \
    --to "$((${back_at%.*} + 600))" > "$work/totals.out" || fail "no totals"
python3 - "$gone_at" "$back_at" "$rack_before" "$rack_after" "$board_before" "$board_after" \
    "$work/totals.out" << 'END' || fail "see above"
import json, sys
gone, back = float(sys.argv[1]), float(sys.argv[2])
before, (count, last) = int(sys.argv[3]), map(float, sys.argv[4].split())
# Polled once a second: the first reading after the return was this long ago.
first = last - (count - before - 1)
print('the first reading came %.2f s after the return' % (first - back))
assert -1 < first - back <= 5
(c0, t0), (c1, t1) = (map(float, a.split()) for a in sys.argv[5:7])
print('the other bus: %d readings in %.1f s' % (c1 - c0, t1 - t0))
assert abs((c1 - c0) - (t1 - t0)) <= 1
places = {(e['name'], p['place']): p for e in json.load(open(sys.argv[7]))['enclosures']
          for p in e['places'] if p['quantity'] == 'temperature'}
span = 1200 + int(back) - int(gone)
known = {k: span - p['unknown_seconds'] for k, p in places.items()}
missing = known['T1', 'warm_side'] - known['T3', 'cool_side']
print('unknown on the lost bus: %.2f s, the gap was %.2f s' % (missing, first - gone))
assert abs(missing - (first - gone)) < 3
END
