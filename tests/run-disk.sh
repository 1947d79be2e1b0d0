#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A disk that is full while an animal overheats: the alert waits in memory and
# goes out as soon as there is room; log and outbox lose nothing.
. "${top_srcdir:-.}/tests/lib.sh"
need socat unshare mount
if [ -z "${IN_NAMESPACE:-}" ]; then
    unshare --mount true 2> /dev/null || skip "namespaces are not permitted here"
    IN_NAMESPACE=1
    export IN_NAMESPACE
    trap - EXIT
    rm -rf "$work"
    exec unshare --mount sh "$0" "$@"
fi
state=$work/state
mkdir "$state"
mount -t tmpfs -o size=4m tmpfs "$state" || skip "no tmpfs may be mounted here"
start_hook
pty_pair "$work/near" "$work/far"
cat > "$work/room.conf" << END
state = "$state"
gather = "0s"
archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }
bus "board" { port = "$work/near"  speaks = "lines"  line = "{temperature}"  every = "1s" }
probe "a" { bus = "board" }
enclosure "T3" { warm_side { probe = "a"  temperature { day = "27..31 C"  limits = "15..36 C" } } }
webhook "phone" { endpoint = "$hook_url"  body = "text" }
END
echo 30.0 > "$work/degrees"
start board sh -c "while sleep 0.5; do cat '$work/degrees'; done > '$work/far'"
start daemon "$daemon" -c "$work/room.conf"
daemon_pid=$started_pid
heard()
{
    grep -q '"value":30' "$state/now.json" 2> /dev/null
}
wait_until 30 heard || fail "no readings"

cat /dev/zero > "$state/filler" 2> /dev/null
echo 39.0 > "$work/degrees"
wait_until 30 grep -q "it waits in memory" "$work/daemon.err" || fail "nothing said of the disk"
grep -q "for webhook \"phone\": T3 warm side dangerously hot" "$work/daemon.err" || fail "the alert is not logged"
rm "$state/filler"
wait_until 30 hook_count 1 || fail "the alert never went out"
grep -q "dangerously hot" "$hook_log" || fail "something else was posted"
wait_until 10 grep -q '"event":"raised"' "$state/alerts.jsonl" || fail "the alert log lost it"
stop "$daemon_pid"
same 0 "$stop_status" "the exit status"
umount -l "$state"
