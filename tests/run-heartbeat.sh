#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The heartbeat is silent when the watch is: a watcher that stands still, a
# board that says nothing more and a terminal that is gone each stop it within
# two beats, and it comes back when they do.
. "${top_srcdir:-.}/tests/lib.sh"
need socat python3
# Each with a room of its own, since beats are slow.
[ $# -gt 0 ] || side_by_side stalled mute unplugged
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
    rm -f "$work/mute"
    : > "$work/talks"
}
# The board: a value every 0.3 s while there is a file "talks"; without it there is
# soon a file "mute".  It must not make a file of a terminal that has just gone.
start board sh -c "while sleep 0.3; do
    if [ ! -e '$work/talks' ]; then
        : > '$work/mute'
    else
        echo 29.0 | dd of='$work/far' conv=nocreat,notrunc status=none
    fi
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
    # A busy machine may keep the last value back for long.
    wait_until 10 test -e "$work/mute" || fail "the board talks on"
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
python3 - "$hook_log" "$every" "$1" << 'CHECK' || fail "the heartbeat is not as documented"
import datetime, json, sys
every, fault = int(sys.argv[2]), sys.argv[3]
beats = [json.loads(json.loads(line)['body']) for line in open(sys.argv[1])]
for beat in beats:
    assert beat['type'] == 'heartbeat', beat
    at, read = (datetime.datetime.fromisoformat(text.replace('Z', '+00:00'))
                for text in (beat['timestamp'], beat['data']['latest_reading']))
    # Up to a beat old readings count: one is, when the board ends just behind a beat.
    assert 0 <= (at - read).total_seconds() <= every, beat
numbers = [beat['data']['number'] for beat in beats]
steps = [after - before for before, after in zip(numbers, numbers[1:])]
# One may be dropped, and is counted: the next one after a standstill that began while
# the one before was on its way.
assert all(step in (1, 2) for step in steps), numbers
assert steps.count(2) <= (fault == 'stalled'), numbers
assert numbers[0] == 1, numbers
CHECK

kill -0 "$daemon_pid" || fail "the daemon ended"
stop "$daemon_pid"
same 0 "$stop_status" "the exit status"
