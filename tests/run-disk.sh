#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A disk that is full, then one that turns read-only, while an animal
# overheats: the alerts go out all the same, from memory.  When there is room
# again, log and outbox have lost nothing and have it in order; a disk that
# takes nothing is itself told of (with LONG=1: it takes a minute).
. "${top_srcdir:-.}/tests/lib.sh"
need socat mount python3
in_namespace --mount
state=$work/state
mkdir "$state" || fail "no state folder"
unmount()
{
    ! mountpoint -q "$state" || umount -l "$state"
}
trap 'unmount; clean_up' EXIT
mount -t tmpfs -o size=4m tmpfs "$state" || skip "no tmpfs may be mounted here"
start_hook
start_two_tubs "$state"

disk_is_told()
{
    [ -z "${LONG:-}" ] || wait_until 120 told "$1" || fail "the disk's own trouble is not told: $1"
}
# ---- full --------------------------------------------------------------------
start_tubs_daemon
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
disk_is_told "the state folder was damaged or takes nothing"
rm "$state/filler"
wait_until 30 grep -q "the alert log is written again" "$work/daemon.err" ||
    fail "there is room, and the alert log is not written"
degrees 30.0 30.0
wait_until 30 told "T4 warm side back in its band" || fail "the second end is kept back"
disk_is_told "the state folder is written again"
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
start_tubs_daemon
mount -o remount,abort "$state" 2> /dev/null || skip "only the full disk was tried: no abort"
touch "$state/probe" 2> /dev/null && fail "the card is not read-only"
degrees 39.0 30.0
wait_until 30 told "T3 warm side dangerously hot" || fail "a read-only disk keeps an alert back"
degrees 30.0 30.0
wait_until 30 told "T3 warm side back in its band" || fail "a read-only disk keeps the end back"
disk_is_told "the state folder was damaged or takes nothing"
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
start_tubs_daemon
wait_until 30 told "T4 warm side dangerously hot" || fail "nothing is told after the repair"
stop "$daemon_pid"
same 0 "$stop_status" "the exit status after the repair"
