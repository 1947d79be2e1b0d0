#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The state folder is taken away under a running watch: removed whole, in parts, and as a
# memory stick that is pulled out with it.  Alerts go out all the same; what was removed is made
# anew, what was pulled out is waited for and nothing written in its place; log and
# totals have lost nothing of it, and each time it is told.
. "${top_srcdir:-.}/tests/lib.sh"
need socat mount python3
in_namespace --mount
stick=$work/stick mount=$work/mount
trap 'mountpoint -q "$mount" && umount -l "$mount"; mountpoint -q "$stick" && umount -l "$stick"; clean_up' EXIT
start_hook

# logged EVENT NUMBER: has the log so many of them?
logged()
{
    [ "$(grep -c "\"event\":\"$1\"" "$state/alerts.jsonl" 2> /dev/null)" -ge "$2" ]
}
# check STATE: the end; log, outbox and webhook hold the same, nothing stands.
check()
{
    wait_until 60 outbox_is_empty || fail "the outbox is not emptied"
    stop "$daemon_pid"
    same 0 "$stop_status" "the exit status"
    stopped=$(date +%s)
}
in_agreement()
{
    python3 "$top_srcdir/tests/reference/alertkill.py" "$state" "$hook_log" "$work/daemon.err" ||
        fail "$1: see above"
}

# ---- removed, whole and in parts, while an animal overheats ----------------------
start_two_tubs "$work/state"
start_tubs_daemon
degrees 39.0 30.0
wait_until 30 told "T3 warm side dangerously hot" || fail "no alert at first"
wait_until 10 logged delivered 2 || fail "the delivery is not logged"
rm -r "$state"
removed=$(date +%s)
wait_until 30 told "Warmside: the state folder was damaged" || fail "it is not told"
grep -q '"event":"raised","enclosure":"T3"' "$state/alerts.jsonl" ||
    fail "the alert log has lost what it held"
grep -q above_limits "$state/standing.json" ||
    fail "what stands is not written down again"
grep -q "was taken away; the watch goes on" "$work/daemon.err" || fail "nothing said of the folder"
for part in archive outbox requests; do
    rm -r "${state:?}/$part"
    wait_until 10 test -d "$state/$part" || fail "$part is not made anew"
done
"$report" -c "$work/room.conf" shelve T4 1h > /dev/null || fail "no request is taken any more"
wait_until 10 logged shelved 1 || fail "a shelving is not logged"
"$report" -c "$work/room.conf" shelve T4 0s > /dev/null || fail "no request is taken any more"
degrees 30.0 30.0
wait_until 30 told "T3 warm side back in its band" || fail "the end of it is not told"
if [ -n "${LONG:-}" ]; then
    wait_until 90 told "the state folder is written again" || fail "it is never over"
    check
    in_agreement "the folder removed"
else
    check
fi
# The rows of before are gone with the folder; of those since none is missing.
known=$(known_seconds T3 $((removed - 3600)) $((stopped + 60)))
echo "known since the folder was removed, $((stopped - removed)) s ago: $known s"
python3 -c "import sys; sys.exit(not $known > $stopped - $removed - 4)" || fail "time is missing"

# ---- a memory stick pulled out -----------------------------------------------------
: > "$hook_log"
mkdir "$stick" "$mount"
mount -t tmpfs -o size=8m tmpfs "$stick" || skip "only what is removed was tried: no tmpfs"
mkdir "$stick/state"
sed -i "s,^state = .*,state = \"$mount\"," "$work/room.conf"
state=$mount
# It is the mount itself: without it, there is an empty folder on another disk.
mount --bind "$stick/state" "$mount" || fail "no bind mount"
start_tubs_daemon
begun=$(date +%s)
degrees 39.0 30.0
wait_until 30 told "T3 warm side dangerously hot" || fail "no alert on the stick"
wait_until 10 logged delivered 2 || fail "the delivery is not logged on the stick"
umount -l "$mount"
wait_until 30 told "Warmside: the state folder was damaged" || fail "the stick is not told of"
grep -q "$mount is gone; the watch goes on" "$work/daemon.err" || fail "nothing said of the stick"
degrees 39.0 38.0
wait_until 30 told "T4 warm side dangerously hot" || fail "an alert without the stick"
# An archivist that begins now must find nothing to write to either.
archivist=$(python3 -c "
import os, sys
sys.path.insert(0, '$top_srcdir/tests/reference')
import killer
print(*[c for c in killer.children($daemon_pid) if killer.is_archivist(c)])")
[ -z "$archivist" ] || kill -KILL "$archivist"
degrees 30.0 38.0
wait_until 30 told "T3 warm side back in its band" || fail "an end without the stick"
same "" "$(ls -A "$mount")" "what was written beneath the stick"
mount --bind "$stick/state" "$mount" || fail "the stick cannot be put back"
wait_until 20 logged raised 3 || fail "the log is not completed: $(cat "$state/alerts.jsonl")"
wait_until 20 grep -q '"value":38' "$state/now.json" || fail "now.json is not written again"
degrees 30.0 30.0
wait_until 30 told "T4 warm side back in its band" || fail "the end of it with the stick"
[ -z "${LONG:-}" ] || wait_until 90 told "the state folder is written again" || fail "no end of it"
check
[ -z "${LONG:-}" ] || in_agreement "the stick"
known=$(known_seconds T3 $((begun - 3600)) $((stopped + 60)))
echo "known since the start, $((stopped - begun)) s ago: $known s"
python3 -c "import sys; sys.exit(not $known > $stopped - $begun - 4)" || fail "time is missing"
