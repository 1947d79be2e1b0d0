#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A disk that is full, then one that turns read-only, while an animal
# overheats: the alerts go out all the same, from memory.  When there is room
# again, log and outbox have lost nothing and have it in order; a disk that
# takes nothing is itself told of (with LONG=1: it takes a minute).
. "${top_srcdir:-.}/tests/lib.sh"
need socat unshare mount python3
if [ -z "${IN_NAMESPACE:-}" ]; then
    unshare --mount true 2> /dev/null || skip "namespaces are not permitted here"
    IN_NAMESPACE=1
    export IN_NAMESPACE
    trap - EXIT
    rm -rf "$work"
    exec unshare --mount sh "$0" "$@"
fi
state=$work/state
mkdir "$state" || fail "no state folder"
unmount()
{
    ! mountpoint -q "$state" || umount -l "$state"
}
trap 'unmount; clean_up' EXIT
mount -t tmpfs -o size=4m tmpfs "$state" || skip "no tmpfs may be mounted here"
start_hook
pty_pair "$work/near" "$work/far"
cat > "$work/room.conf" << CONF
state = "$state"
gather = "0s"
archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }
bus "board" { port = "$work/near"  speaks = "lines"  line = "{probe} {temperature}"  every = "1s" }
probe "a" { bus = "board" }
probe "b" { bus = "board" }
enclosure "T3" { warm_side { probe = "a"  temperature {
    day = "27..31 C"  limits = "15..36 C"  patience = "0s"  off_delay = "1s" } } }
enclosure "T4" { warm_side { probe = "b"  temperature {
    day = "27..31 C"  limits = "15..36 C"  patience = "0s"  off_delay = "1s" } } }
webhook "phone" { endpoint = "$hook_url" }
CONF

# degrees OF_A OF_B
degrees()
{
    printf 'a %s\nb %s\n' "$1" "$2" > "$work/degrees.new"
    mv "$work/degrees.new" "$work/degrees"
}
degrees 30.0 30.0
start board sh -c "while sleep 0.3; do cat '$work/degrees'; done > '$work/far'"

heard()
{
    grep -q '"value":3' "$state/now.json" 2> /dev/null
}
start_daemon()
{
    hook_seen=$(wc -l < "$hook_log")
    start daemon "$daemon" -c "$work/room.conf"
    daemon_pid=$started_pid
    wait_until 30 heard || fail "no readings"
}
# told WORDS: did a title say so since the daemon was started?
told()
{
    tail -n +$((hook_seen + 1)) "$hook_log" | grep -q "\\\\\"title\\\\\":\\\\\"[^\\]*$1"
}
disk_is_told()
{
    [ -z "${LONG:-}" ] || wait_until 120 told "$1" || fail "the disk's own trouble is not told: $1"
}
outbox_is_empty()
{
    [ -z "$(find "$state/outbox" -name '*.json')" ]
}

# ---- full --------------------------------------------------------------------
start_daemon
cat /dev/zero > "$state/filler" 2> /dev/null
degrees 39.0 30.0
wait_until 30 told "T3 warm side dangerously hot" || fail "a full disk keeps an alert back"
grep -q dangerously "$state/standing.json" && fail "the disk is not full at all"
grep -q raised "$state/alerts.jsonl" && fail "the disk is not full at all"
grep -q "it waits in memory" "$work/daemon.err" || fail "nothing said of the disk"
degrees 39.0 38.0
wait_until 30 told "T4 warm side dangerously hot" || fail "a second alert is kept back"
degrees 30.0 38.0
wait_until 30 told "T3 warm side back in its band" || fail "the end of an alert is kept back"
disk_is_told "the disk takes nothing more"
rm "$state/filler"
wait_until 30 grep -q "the alert log is written again" "$work/daemon.err" ||
    fail "there is room, and the alert log is not written"
degrees 30.0 30.0
wait_until 30 told "T4 warm side back in its band" || fail "the second end is kept back"
disk_is_told "the disk takes alerts again"
wait_until 30 outbox_is_empty || fail "the outbox is not emptied"
stop "$daemon_pid"
same 0 "$stop_status" "the exit status"
python3 "$top_srcdir/tests/reference/alertkill.py" "$state" "$hook_log" "$work/daemon.err" ||
    fail "the full disk: see above"
unmount

# ---- read-only, as it turns when the card beneath it fails ---------------------
PATH=$PATH:/sbin:/usr/sbin
command -v mkfs.ext4 > /dev/null || skip "only the full disk was tried: no mkfs.ext4"
truncate -s 16M "$work/card"
mkfs.ext4 -q -F "$work/card" || fail "no file system can be made"
mount -o loop,errors=remount-ro "$work/card" "$state" 2> /dev/null ||
    skip "only the full disk was tried: no loop device"
start_daemon
mount -o remount,abort "$state" 2> /dev/null || skip "only the full disk was tried: no abort"
touch "$state/probe" 2> /dev/null && fail "the card is not read-only"
degrees 39.0 30.0
wait_until 30 told "T3 warm side dangerously hot" || fail "a read-only disk keeps an alert back"
degrees 30.0 30.0
wait_until 30 told "T3 warm side back in its band" || fail "a read-only disk keeps the end back"
disk_is_told "the disk takes nothing more"
if [ -n "${LONG:-}" ]; then
    # It waits a while for the archive, which cannot be written either.
    kill "$daemon_pid"
    wait_until 40 gone "$daemon_pid" || fail "no end on a read-only disk"
    wait "$daemon_pid"
    same 0 $? "the exit status on a read-only disk"
else
    stop "$daemon_pid" KILL
fi
grep -q "messages are lost" "$work/daemon.err" && fail "a message is called lost that was received"

# The card is put right, and the watch goes on.
unmount
mount -o loop "$work/card" "$state" || fail "the card cannot be mounted again"
degrees 30.0 38.0
start_daemon
wait_until 30 told "T4 warm side dangerously hot" || fail "nothing is told after the repair"
stop "$daemon_pid"
same 0 "$stop_status" "the exit status after the repair"
