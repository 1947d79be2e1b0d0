#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The live daemon on a simulated room: an alert reaches the webhook, a reload
# keeps what stands, a faulty one is refused, a restart repeats nothing.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
start_hook
start_room --every 1 --fault stuck-heater:M1:-12h:2d
echo 'gather = "0s"' > "$work/room.conf"
"$roomsim" conf --rack "$rack" --board "$board" --state "$work/state" --every 1 \
    --webhook "$hook_url" >> "$work/room.conf" || fail "no configuration"

events()
{
    grep -c "\"event\":\"$1\"" "$work/state/alerts.jsonl"
}
has_events()
{
    [ "$(events "$1")" -ge "$2" ]
}
# now EXPRESSION: of now.json as n
now()
{
    python3 -c "import json, sys; n = json.load(open('$work/state/now.json')); print($1)"
}
start_daemon()
{
    start daemon "$daemon" -c "$work/room.conf"
    daemon_pid=$started_pid
}

start_daemon
wait_until 20 hook_count 1 || fail "no message came"
python3 - "$hook_log" << 'END' || fail "the message is not as documented"
import json, sys
request = json.loads(open(sys.argv[1]).readline())
body, headers = json.loads(request['body']), request['headers']
data = body['data']
assert body['type'] == 'alert.raised', body
assert headers['webhook-id'] == data['message'], headers
assert abs(int(headers['webhook-timestamp']) - data['time']) < 60, headers
assert (data['enclosure'], data['place'], data['quantity']) == ('M1', 'warm_side', 'temperature')
assert (data['condition'], data['priority']) == ('above_limits', 'now'), data
assert data['title'].startswith('Old cupboard warm side dangerously hot, '), data
END
wait_until 10 has_events delivered 1 || fail "the delivery is not logged"
same 0 "$(find "$work/state/outbox" -type f | wc -l)" "messages left in the outbox"
is_unsafe()
{
    [ "$(now "[e['state'] for e in n['enclosures'] if e['name'] == 'M1'][0]")" = unsafe ]
}
wait_until 15 is_unsafe || fail "now.json does not call M1 unsafe"

# One daemon a state folder; and the ports are the daemon's.
"$daemon" -c "$work/room.conf" 2> "$work/second.err" && fail "a second daemon runs"
grep -q "runs already" "$work/second.err" || fail "the second daemon does not say why"
"$daemon" -c "$work/room.conf" --read > "$work/read.out" || fail "--read beside the daemon fails"
grep -q "The daemon holds the ports" "$work/read.out" || fail "--read does not say who holds them"
grep -q "^m1w  *[34][0-9]\.[0-9] °C" "$work/read.out" || fail "--read does not show m1w"

# What the keeper does is taken, logged and shown.
"$report" -c "$work/room.conf" shelve M1 1h --by Ada > "$work/shelve.out" 2>&1 ||
    fail "shelving fails: $(cat "$work/shelve.out")"
grep -q "^M1: shelved until" "$work/shelve.out" || fail "nothing said of the shelving"
is_shelved()
{
    "$report" -c "$work/room.conf" now | grep -q "^M1 is shelved until"
}
wait_until 15 is_shelved || fail "now does not show the shelving"
"$report" -c "$work/room.conf" ack --by Ada > "$work/ack.out" 2>&1 || fail "ack fails"
grep -q "1 alert acknowledged" "$work/ack.out" || fail "ack says: $(cat "$work/ack.out")"
"$report" -c "$work/room.conf" shelve M1 0s > /dev/null || fail "unshelving fails"
has_events unshelved 1 || fail "the end of the shelving is not logged"
"$daemon" -c "$work/room.conf" --test-alert > "$work/test.out" 2>&1 ||
    fail "the test alert fails: $(cat "$work/test.out")"
grep -q '^webhook "phone" took the test after' "$work/test.out" || fail "nothing said of the test"

# A faulty configuration is refused whole, a good one is swapped in.
cp "$work/room.conf" "$work/good.conf"
echo 'enclosure "X" { colour = "red" }' >> "$work/room.conf"
kill -HUP "$daemon_pid"
wait_until 10 grep -q "the old one stays in force" "$work/daemon.err" || fail "a faulty reload"
grep -q "room.conf:[0-9]*: .*colour" "$work/daemon.err" || fail "the fault is not named"
sed 's/label = "Old cupboard"/label = "Renamed"/' "$work/good.conf" > "$work/room.conf"
kill -HUP "$daemon_pid"
wait_until 10 grep -q "new configuration is in force" "$work/daemon.err" || fail "no reload"
read_before=$(now "[p['read'] for p in n['probes'] if p['name'] == 'm1w'][0]")
read_more()
{
    [ "$(now "[p['read'] for p in n['probes'] if p['name'] == 'm1w'][0]")" -gt "$read_before" ]
}
wait_until 20 read_more || fail "no readings after the reload"
same 1 "$(events raised)" "raised after a reload"
same 0 "$(events cleared)" "cleared after a reload"

stop "$daemon_pid"
same 0 "$stop_status" "the exit status after SIGTERM"
grep -q "not a thermostat" "$work/daemon.err" || fail "no cautions at the first start"

# A restart knows what stands.
start_daemon
read_before=0
wait_until 20 read_more || fail "no readings after the restart"
same 1 "$(events raised)" "raised after a restart"

# So does one after a kill.
kill -KILL "$daemon_pid"
wait_until 10 gone "$daemon_pid"
start_daemon
wait_until 20 grep -q "is open" "$work/daemon.err" || fail "no start after a kill"
sleep 3 # a few polls; were it repeated, it would be at the second reading
same 1 "$(events raised)" "raised after a kill"
stop "$daemon_pid"
grep -q "not a thermostat" "$work/daemon.err" && fail "cautions at every start"
same 2 "$(wc -l < "$hook_log")" "messages in all, the test included"
