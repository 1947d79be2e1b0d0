#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What need not outlast a power cut lies in the folder in memory that a service
# manager gives, with links in the state folder; without one in that itself.
# Whoever is killed finds it again, wherever it lay before.
. "${top_srcdir:-.}/tests/lib.sh"
need socat python3
pty_pair "$work/near" "$work/far"
cat > "$work/room.conf" << CONF
state = "$work/state"
archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }
bus "board" { port = "$work/near"  speaks = "lines"  line = "{temperature}"  every = "1s" }
probe "a" { bus = "board" }
enclosure "T3" { warm_side { probe = "a"  temperature { day = "27..31 C" } } }
CONF
start board sh -c "while sleep 0.3; do echo 29.5; done > '$work/far'"
mkdir "$work/memory"

heard()
{
    rm -f "$work/now.err"
    "$report" -c "$work/room.conf" now 2> "$work/now.err" | grep -q 29.5
}
begin()
{
    start daemon "$daemon" -c "$work/room.conf"
    daemon_pid=$started_pid
    wait_until 20 heard || fail "no reading"
}

RUNTIME_DIRECTORY=$work/memory:$work/other
export RUNTIME_DIRECTORY
begin
for name in now.json gathered; do
    same "$work/memory/$name" "$(readlink "$work/state/$name")" "link of $name"
done
sampled()
{
    [ -s "$1/samples" ]
}
wait_until 20 sampled "$work/memory" || fail "no values are kept"
[ ! -e "$work/state/samples" ] || fail "values are written to the state folder"
kill -9 "$daemon_pid"
wait "$daemon_pid" 2> /dev/null

is_plain()
{
    [ -f "$1" ] && [ ! -L "$1" ]
}
# Back to the state folder: the links give way to files.
unset RUNTIME_DIRECTORY
begin
for name in now.json gathered; do
    wait_until 20 is_plain "$work/state/$name" || fail "$name is no file"
done
wait_until 20 sampled "$work/state" || fail "no values are kept in the state folder"
stop "$daemon_pid"
same 0 "$stop_status" "exit status"
[ ! -e "$work/state/samples" ] || fail "an orderly end leaves values"
