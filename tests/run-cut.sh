#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Files cut short.  First by hand: the alert log in the middle of a line and followed by
# zeros, an outbox with half a message, an empty one and one of somebody else, requests that
# are none, torn logs of bands and dryings, the lock of a dead watch.  Then by the power
# going off: all processes killed at once, and of the disk only what had been synced by
# then.  Nothing told is forgotten, nothing to be told is lost, nothing stands twice.
. "${top_srcdir:-.}/tests/lib.sh"
need socat mount python3
cuts=3
[ -z "${LONG:-}" ] || cuts=8
in_namespace --mount
start_hook

in_agreement()
{
    wait_until 60 all_sent || fail "$1: the outbox is not emptied"
    stop "$daemon_pid"
    same 0 "$stop_status" "$1: the exit status"
    python3 "$top_srcdir/tests/reference/alertkill.py" "$state" "$hook_log" "$work/torn.err" ||
        fail "$1: see above"
}
all_sent()
{
    [ -z "$(find "$state/outbox" -type f -name '*-phone.json' -size +0 ! -name '*half*')" ]
}

# ---- by hand ------------------------------------------------------------------------------
start_two_tubs "$work/state"
start_tubs_daemon
degrees 39.0 30.0
wait_until 30 told "T3 warm side dangerously hot" || fail "no alert at first"
wait_until 10 grep -q delivered "$state/alerts.jsonl" || fail "the delivery is not logged"
# As by a power cut, which no child outlives; the lock stays behind.
# shellcheck disable=SC2046
kill -KILL "$daemon_pid" $(cat "/proc/$daemon_pid/task/$daemon_pid/children")
wait_until 10 gone "$daemon_pid" || fail "it does not die"
test -e "$state/lock" || fail "there is no lock"
cp "$state/alerts.jsonl" "$work/whole.jsonl"
printf '{"time":1767603600,"id":"alert_torn","mess' >> "$state/alerts.jsonl"
head -c 700 /dev/zero >> "$state/alerts.jsonl"
sed -i '/"T4"/d' "$state/bands.jsonl" # which is to be said again, behind the torn line
printf '{"time":1767603600,"enclosure":"T3","pl' >> "$state/bands.jsonl"
printf '{"enclosure":"T3","place":"warm_side","fro' > "$state/dryings.jsonl"
outbox=$state/outbox
printf '{"id":"msg_half","alert":"x","webhook":"phone","created":17676' \
    > "$outbox/1767603600000.000001-msg_half-phone.json"
printf 'half of it' > "$outbox/1767603600000.000002-msg_new-phone.json.new"
: > "$outbox/1767603600000.000003-msg_empty-phone.json"
printf 'milk, eggs' > "$outbox/shopping.txt"
mkdir "$outbox/1767603600000.000004-msg_folder-phone.json"
for junk in '' '{' 'null' '{"ask":"dance"}'; do
    printf '%s' "$junk" > "$state/requests/00000000000${#junk}-000000000-1.ask"
done
"$report" -c "$work/room.conf" alerts --format json > "$work/alerts.out" 2> "$work/alerts.err" ||
    fail "the report cannot read a torn log: $(cat "$work/alerts.err")"
grep -q "alerts.jsonl: 1 line is passed over, torn or not written by the daemon" "$work/alerts.err" ||
    fail "the report does not say that a line is torn"
same 1 "$(python3 -c "import json; print(len(json.load(open('$work/alerts.out'))['standing']))")" \
    "what stands by a torn log"
start_tubs_daemon
hear_from 0
grep -q "alerts.jsonl: the last line was torn" "$work/daemon.err" || fail "the torn line is not told of"
cp "$work/daemon.err" "$work/torn.err"
for name in msg_half msg_empty msg_folder; do
    wait_until 10 grep -q "outbox: .*$name-phone.json is no message" "$work/daemon.err" ||
        fail "nothing said of $name"
done
said_of_requests()
{
    [ "$(grep -c "a request is passed over: .* holds no request" "$work/daemon.err")" -eq 4 ]
}
wait_until 10 said_of_requests || fail "not a sentence for each request that is none"
test -e "$outbox/1767603600000.000002-msg_new-phone.json.new" && fail "half a file is still there"
test -e "$outbox/shopping.txt" || fail "somebody else's file is gone"
degrees 30.0 38.0
wait_until 30 told "T3 warm side back in its band" || fail "the end is not told"
wait_until 30 told "T4 warm side dangerously hot" || fail "what comes after is not told"
degrees 30.0 30.0
wait_until 30 told "T4 warm side back in its band" || fail "its end is not told"
in_agreement "by hand"
head -c "$(wc -c < "$work/whole.jsonl")" "$state/alerts.jsonl" | cmp -s - "$work/whole.jsonl" ||
    fail "what was in the log before is changed"
same 1 "$(grep -c '^{"time":1767603600,"enclosure":"T3","pl$' "$state/bands.jsonl")" \
    "the torn line of bands, which stands alone"
same 1 "$(grep -c '^{.*"enclosure":"T4".*}$' "$state/bands.jsonl")" "the line behind the torn one"

# ---- by the power ---------------------------------------------------------------------------
PATH=$PATH:/sbin:/usr/sbin
command -v mkfs.ext4 > /dev/null || skip "only what was cut by hand was tried: no mkfs.ext4"
state=$work/card
mkdir "$state"
unmount()
{
    ! mountpoint -q "$state" || umount -l "$state"
}
trap 'unmount; clean_up' EXIT
: > "$hook_log"
: > "$work/torn.err"
truncate -s 24M "$work/disk.0"
mkfs.ext4 -q -F "$work/disk.0" || fail "no file system can be made"
# By itself the system would write what was not synced only after half a minute.
mount -o loop,commit=300 "$work/disk.0" "$state" 2> /dev/null ||
    skip "only what was cut by hand was tried: no loop device"
sed -i "s,^state = .*,state = \"$state\"," "$work/room.conf"
seed=${SEED:-$(date +%s)}
cut=0
while [ $cut -lt $cuts ]; do
    start_tubs_daemon
    cat "$work/daemon.err" >> "$work/torn.err"
    # Something begins or ends, and somewhere on its way the power goes.
    case $((cut % 4)) in
    0) degrees 39.0 30.0 ;;
    1) degrees 39.0 38.0 ;;
    2) degrees 30.0 38.0 ;;
    3) degrees 30.0 30.0 ;;
    esac
    sleep "$(python3 -c "import random; print(random.Random('$seed-$cut').uniform(0.2, 2.5))")"
    # shellcheck disable=SC2046
    kill -KILL "$daemon_pid" $(cat "/proc/$daemon_pid/task/$daemon_pid/children")
    wait_until 10 gone "$daemon_pid" || fail "it does not die"
    cut=$((cut + 1))
    cp --sparse=always "$work/disk.$((cut - 1))" "$work/disk.$cut"
    umount "$state" || fail "the card cannot be taken out"
    rm "$work/disk.$((cut - 1))"
    mount -o loop,commit=300 "$work/disk.$cut" "$state" || fail "the card cannot be put back"
done
start_tubs_daemon
cat "$work/daemon.err" >> "$work/torn.err"
hear_from 0
degrees 30.0 30.0
is_calm()
{
    ! grep -q '"alert"' "$state/standing.json"
}
wait_until 60 is_calm || fail "it never comes to an end (SEED=$seed)"
in_agreement "$cuts power cuts (SEED=$seed)"
