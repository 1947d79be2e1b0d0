#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The configuration is read again (SIGHUP) while somebody is still writing it: empty, cut
# in a section, half written, its included file missing for a moment, a folder in its place.
# Each time the old one stays in force, and it is said why; the report says a clear
# sentence, too.  The next SIGHUP takes the whole one.  Meanwhile no reading is missed, no
# alert lost, and none told twice.
. "${top_srcdir:-.}/tests/lib.sh"
need socat python3
start_hook
start_two_tubs "$work/state"
conf=$work/room.conf
head -n 9 "$conf" > "$work/main.part"
tail -n +10 "$conf" > "$work/tub4.conf"
same enclosure "$(cut -d ' ' -f 1 "$work/tub4.conf" | head -n 1)" "the second enclosure's part"
grep -q "^webhook" "$work/main.part" || fail "the webhook is not in the main part"
{
    cat "$work/main.part"
    echo 'include("tub4.conf")'
} > "$work/whole.conf"
cp "$work/whole.conf" "$conf"
cp "$work/tub4.conf" "$work/tub4.kept"

said()
{
    grep -c "$1" "$work/daemon.err"
}
said_more()
{
    [ "$(said "$1")" -gt "$2" ]
}
# refused WHAT SENTENCE: a SIGHUP now changes nothing, and both programs say that sentence.
refused()
{
    refused_before=$(said "the old one stays in force")
    "$report" -c "$conf" totals > "$work/report.out" 2> "$work/report.err"
    same 1 $? "$1: the exit status of the report"
    grep -q "$2" "$work/report.err" || fail "$1: the report says: $(cat "$work/report.err")"
    kill -HUP "$daemon_pid"
    wait_until 20 said_more "the old one stays in force" "$refused_before" || fail "$1: it is taken"
    grep -q "$2" "$work/daemon.err" || fail "$1: '$2' is not said"
}
# taken WHAT: a SIGHUP now brings the configuration into force.
taken()
{
    taken_before=$(said "new configuration is in force")
    kill -HUP "$daemon_pid"
    wait_until 20 said_more "new configuration is in force" "$taken_before" || fail "$1: not taken"
}

# place_of WORD OFFSET: in bytes from the begin of the whole configuration.
place_of()
{
    echo $(($(grep -b -o -m 1 "$1" "$work/whole.conf" | head -n 1 | cut -d : -f 1) + $2))
}

start_tubs_daemon
begun=$(date +%s)
degrees 39.0 30.0
wait_until 30 told "T3 warm side dangerously hot" || fail "no alert at first"

: > "$conf"
refused "cut to nothing" "room.conf.*the file is empty"
head -c "$(place_of warm_side 12)" "$work/whole.conf" > "$conf"
refused "cut in a section" "room.conf:"
rm "$conf"
refused "removed" "room.conf cannot be read: No such file"
mkdir "$conf"
refused "a folder" "room.conf is a folder, not a file"
rmdir "$conf"
cp "$work/whole.conf" "$conf"
rm "$work/tub4.conf"
refused "without the included file" "room.conf:10: .*tub4.conf cannot be read: No such file"
cp "$work/tub4.kept" "$work/tub4.conf"
# By a slow editor: what is there when the signal comes ends in the middle of a word.
mkfifo "$work/go"
cut=$(place_of '"b"' -3)
start editor sh -c "{ head -c $cut '$work/whole.conf'; read -r line; tail -c +$((cut + 1)) '$work/whole.conf'; } \
    > '$conf' < '$work/go'"
exec 3> "$work/go"
wait_until 10 test -s "$conf" || fail "the editor writes nothing"
refused "half written" "room.conf:"
echo >&3
exec 3>&-
wait_until 10 gone "$started_pid" || fail "the editor does not end"
cmp -s "$conf" "$work/whole.conf" || fail "the editor has not written all of it"
taken "written to its end"
# Cut between two sections it is faultless: then at least it is said who is missing.
grep -v include "$work/whole.conf" > "$conf"
taken "cut between two sections"
wait_until 10 grep -q '"T4" is no longer watched' "$work/daemon.err" || fail "T4 goes without a word"
cp "$work/whole.conf" "$work/room.conf.new"
mv "$work/room.conf.new" "$conf"
taken "replaced by rename"
wait_until 10 grep -q '"T4" is watched from now on' "$work/daemon.err" || fail "T4 comes without a word"

degrees 30.0 30.0
wait_until 30 told "T3 warm side back in its band" || fail "the end of it is not told"
wait_until 30 outbox_is_empty || fail "the outbox is not emptied"
stop "$daemon_pid"
same 0 "$stop_status" "the exit status"
stopped=$(date +%s)
python3 "$top_srcdir/tests/reference/alertkill.py" "$state" "$hook_log" "$work/daemon.err" ||
    fail "see above"
known=$(known_seconds T3 $((begun - 3600)) $((stopped + 60)))
echo "known since the start, $((stopped - begun)) s ago: $known s"
python3 -c "import sys; sys.exit(not $known > $stopped - $begun - 4)" || fail "time is missing"
