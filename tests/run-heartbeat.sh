#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The heartbeat is silent when the watch is: a watcher that stands still, a
# board that says nothing more and a terminal that is gone each stop it within
# two beats, and it comes back when they do.
. "${top_srcdir:-.}/tests/lib.sh"
need socat python3
if [ $# -eq 0 ]; then
    # Each with a room of its own, side by side, since beats are slow.
    waited=
    for fault in stalled mute unplugged; do
        sh "$0" $fault > "$work/$fault.out" 2>&1 &
        waited="$waited $!"
    done
    worst=0
    for pid in $waited; do
        wait "$pid" || worst=$?
    done
    cat "$work"/*.out
    exit $worst
fi
every=10
start_hook
pty_pair "$work/near" "$work/far"
cat > "$work/room.conf" << CONF
state = "$work/state"
archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }
bus "board" { port = "$work/near"  speaks = "lines"  line = "{temperature}"  every = "1s" }
probe "a" { bus = "board" }
enclosure "T3" { warm_side { probe = "a"  temperature { day = "27..31 C" } } }
heartbeat { endpoint = "$hook_url"  every = "${every}s" }
CONF
"$daemon" --check -c "$work/room.conf" > "$work/check.out" 2>&1 || {
    grep -q heartbeat "$work/check.out" && skip "this warmsided knows no heartbeat"
    fail "the configuration is refused"
}

talk()
{
    : > "$work/talks"
}
# The board: a value every 0.3 s while there is a file "talks".
start board sh -c "while sleep 0.3; do
    [ ! -e '$work/talks' ] || [ ! -e '$work/far' ] || echo 29.0 > '$work/far'
done"
beats()
{
    wc -l < "$hook_log"
}
beats_more_than()
{
    [ "$(beats)" -gt "$1" ]
}
# silent_within WHAT: of the two beats that would come from now on one comes at
# most, since up to a beat old readings still count.
silent_within()
{
    seen=$(beats)
    sleep $((2 * every + 2))
    came=$(($(beats) - seen))
    echo "$1: $came more beats in $((2 * every + 2)) s"
    [ "$came" -le 1 ] || fail "$1, and the heartbeat goes on"
}
# back_within WHAT: the beat is back within two beats.
back_within()
{
    seen=$(beats)
    wait_until $((2 * every)) beats_more_than "$seen" || fail "no beat two beats after $1"
}

talk
start daemon "$daemon" -c "$work/room.conf"
daemon_pid=$started_pid
wait_until $((2 * every)) beats_more_than 0 || fail "no heartbeat at all"
case $1 in
stalled)
    kill -STOP "$daemon_pid"
    silent_within "the loop stood still"
    kill -CONT "$daemon_pid"
    ;;
mute)
    rm "$work/talks"
    silent_within "the board said nothing more"
    talk
    ;;
unplugged)
    stop "$pty_pid" KILL
    rm -f "$work/near" "$work/far"
    silent_within "the terminal was gone"
    pty_pair "$work/near" "$work/far"
    ;;
esac
back_within "it was over"
python3 - "$hook_log" "$every" << 'CHECK' || fail "the heartbeat is not as documented"
import datetime, json, sys
beats = [json.loads(json.loads(line)['body']) for line in open(sys.argv[1])]
for beat in beats:
    assert beat['type'] == 'heartbeat', beat
    at, read = (datetime.datetime.fromisoformat(text.replace('Z', '+00:00'))
                for text in (beat['timestamp'], beat['data']['latest_reading']))
    assert 0 <= (at - read).total_seconds() <= 3, beat
numbers = [beat['data']['number'] for beat in beats]
assert numbers == list(range(numbers[0], numbers[0] + len(beats))), numbers
CHECK

kill -0 "$daemon_pid" || fail "the daemon ended"
stop "$daemon_pid"
same 0 "$stop_status" "the exit status"
