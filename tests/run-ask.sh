#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What a keeper asks of the watch: shelve, ack and --test-alert, against a
# stand-in that holds the state folder, takes the requests and writes the log.
. "${top_srcdir:-.}/tests/lib.sh"
need python3

conf=$work/room.conf
state=$work/state
log=$state/alerts.jsonl
mkdir -p "$state/requests"
chmod 755 "$work" "$state"
: > "$state/lock"
cat > "$conf" << END
state = "$state"
bus "rack" { port = "/dev/none"  speaks = "modbus"  baud = 9600  parity = "none"  every = "10s" }
probe "a" { bus = "rack"  address = 1  temperature = "input 1 / 10"  humidity = "input 2 / 10" }
probe "r" { bus = "rack"  address = 2  temperature = "input 1 / 10" }
room { probe = "r"  temperature { limits = "10..35 C" } }
enclosure "upper tub" { cool_side { probe = "a"  humidity { day = "45..60 %" } } }
enclosure "T3" { warm_side { probe = "a"  temperature { day = "27..31 C" } } }
webhook "phone" { endpoint = "@phone.url" }
webhook "mail" { endpoint = "@mail.url" }
END

# stand_in.py STATE WEBHOOK...: those webhooks take a test.
cat > "$work/stand_in.py" << 'END'
import fcntl, glob, json, os, sys, time
state, takers = sys.argv[1], sys.argv[2:]
lock = open(state + "/lock")
fcntl.flock(lock, fcntl.LOCK_EX)
log = open(state + "/alerts.jsonl", "a+")

def write(event, **more):
    log.write(json.dumps(dict(time=time.time(), event=event, **more)) + "\n")
    log.flush()

def unseen():
    log.seek(0)
    standing = {}
    for record in map(json.loads, log):
        if record["event"] == "raised":
            standing[record["id"]] = record["enclosure"]
        elif record["event"] in ("acknowledged", "cleared"):
            standing.pop(record["id"], None)
    return standing

print("holds", flush=True)
while True:
    for path in sorted(glob.glob(state + "/requests/*.ask")):
        asked = json.load(open(path))
        os.unlink(path)
        who = {"by": asked["by"], "note": asked["note"]}
        if asked["ask"] == "shelve" and asked["seconds"]:
            write("shelved", id="", enclosure=asked["enclosure"], until=time.time() + asked["seconds"], **who)
        elif asked["ask"] == "shelve":
            write("unshelved", id="", enclosure=asked["enclosure"], **who)
        elif asked["ask"] == "ack":
            for id, enclosure in unseen().items():
                if asked["enclosure"] in ("", enclosure):
                    write("acknowledged", id=id, enclosure=enclosure, **who)
        else:
            write("test", id="t", message="msg_t", **who)
            for taker in takers:
                write("delivered", id="t", message="msg_t", webhook=taker)
    time.sleep(0.02)
END

stand_in()
{
    start stand_in python3 "$work/stand_in.py" "$state" "$@"
    stand_in_pid=$started_pid
    wait_until 10 grep -q holds "$work/stand_in.out" || fail "no stand-in"
}

# ask STATUS PROGRAM ARGUMENTS...: its output is in $work/answer.out.
ask()
{
    wanted_status=$1
    shift
    asked_program=$1
    shift
    "$asked_program" -c "$conf" "$@" > "$work/answer.out" 2> "$work/answer.err"
    same "$wanted_status" $? "status of ${asked_program##*/} $*"
}

# says PATTERN [out|err]
says()
{
    grep -q -- "$1" "$work/answer.${2:-out}" || fail "'$1' is not said"
}

# is_last EXPRESSION: a Python expression over the log's last record `r`.
is_last()
{
    python3 -c "import json, sys
r = json.loads(open(sys.argv[1]).read().splitlines()[-1])
sys.exit(not ($1))" "$log" || fail "not so: $1"
}

requests()
{
    find "$state/requests" -type f | wc -l
}

raise()
{
    echo "{\"time\":$(date +%s),\"id\":\"$1\",\"event\":\"raised\",\"enclosure\":\"$2\",\"place\":\"warm_side\",\"quantity\":\"temperature\",\"condition\":\"above_band\",\"priority\":\"today\"}" >> "$log"
}

# ---- what is wrong is said, and nothing is left -----------------------------------
ask 2 "$report" shelve T3
ask 2 "$report" shelve T3 soon && says '"soon" is no duration' err
ask 2 "$report" shelve T3 24h1s && says 'for 24 h at most' err
ask 2 "$report" shelve T3 25h && says 'for 24 h at most' err
ask 2 "$report" shelve "upper tubb" 1h && says 'did you mean upper tub?' err
ask 2 "$report" shelve X 1h && says 'there are upper tub, T3, room' err
ask 2 "$report" ack T3 --format json && says 'no --format' err
ask 2 "$report" ack --by "$(printf 'two\nlines')" && says 'one line' err
ask 2 "$report" ack --note "$(printf '%0401d' 1)" && says 'at most 400 bytes' err
ask 2 "$report" alerts --by anna && says 'belong to shelve and ack' err
same 0 "$(requests)" "requests left by mistakes"

# ---- nobody runs -------------------------------------------------------------------
ask 0 "$report" ack && says 'nothing to acknowledge'
ask 0 "$report" shelve T3 0s && says 'T3: is not shelved'
same 0 "$(requests)" "requests without need"
ask 0 "$report" shelve T3 90min && says 'waits for warmsided, which does not run'
same 1 "$(requests)" "requests that wait"
ask 1 "$daemon" --test-alert && says 'no daemon runs' err
same 1 "$(requests)" "requests after a test without a daemon"
rm -f "$state"/requests/*

# ---- shelve ------------------------------------------------------------------------
stand_in phone mail
until=$(date -d '+90 minutes' +%H:%M 2> /dev/null)
ask 0 "$report" shelve T3 90min --by anna --note "cleaning, with \"soap\""
says '^T3: shelved until [0-9-]* *[0-2][0-9]:[0-5][0-9]$'
[ -z "$until" ] || [ "$(date -d '+90 minutes' +%H:%M)" != "$until" ] || says "$until"
is_last "r['event'] == 'shelved' and r['by'] == 'anna' and r['note'] == 'cleaning, with \"soap\"'"
is_last "abs(r['until'] - r['time'] - 5400) < 1"
ask 0 "$report" alerts && says '^T3 is shelved until .*(anna: cleaning'
ask 0 "$report" shelve "upper tub" 24h && says 'upper tub: shelved until 20[0-9-]* [0-9:]*$'
ask 0 "$report" shelve T3 0s && says '^T3: no longer shelved$'
is_last "r['event'] == 'unshelved' and r['enclosure'] == 'T3' and r['by']" # the login name
ask 0 "$report" shelve T3 0min && says 'T3: is not shelved'
ask 0 "$report" shelve room 1h && says 'room: shelved until'

# ---- ack ---------------------------------------------------------------------------
raise one T3
raise two T3
raise three "upper tub"
raise four room
ask 0 "$report" ack "upper tub" && says '^upper tub: 1 alert acknowledged$'
ask 0 "$report" ack "upper tub" && says 'acknowledged already'
ask 0 "$report" ack room --note "window was open" && says '^room: 1 alert acknowledged$'
is_last "r['id'] == 'four' and r['note'] == 'window was open'"
ask 0 "$report" ack --by ben && says '^2 alerts acknowledged$'
is_last "r['by'] == 'ben'"
ask 0 "$report" ack && says 'what stands (4) is acknowledged already'
ask 0 "$report" alerts && says 'ben$'

# ---- a test alert ------------------------------------------------------------------
ask 0 "$daemon" --test-alert
says '^webhook "phone" took the test after [0-9]\.[0-9] s$'
says '^webhook "mail" took the test after [0-9]\.[0-9] s$'
ask 0 "$report" alerts --format json
python3 -c "import json, sys
a = json.load(open(sys.argv[1]))
sys.exit(not (a['figures']['tests'] == 1 and a['figures']['raised'] == 4 and
              all(r['event'] != 'test' for r in a['standing'])))" "$work/answer.out" ||
    fail "a test counts as an alert"
grep -v '^webhook' "$conf" > "$work/none.conf"
"$daemon" -c "$work/none.conf" --test-alert 2> "$work/answer.err"
same 1 $? "status without a webhook"
says 'has no webhook' err
stop "$stand_in_pid"

# The daemon ends before the second webhook took it: who did not is said.
stand_in phone
start tester "$daemon" -c "$conf" --test-alert
tester_pid=$started_pid
wait_until 10 grep -qs phone "$work/tester.out" || fail "phone did not take the test"
stop "$stand_in_pid"
wait_until 10 gone "$tester_pid" || fail "the test does not end with the daemon"
wait "$tester_pid"
same 1 $? "status when a webhook did not take the test"
grep -q '"mail" has not taken the test' "$work/tester.err" || fail "who did not take it is not said"

# ---- not everybody may ask ------------------------------------------------------------
chmod 770 "$state/requests"
chmod 644 "$log" "$conf"
if [ "$(id -u)" = 0 ] && command -v setpriv > /dev/null &&
    setpriv --reuid 65534 --regid 65534 --clear-groups test -x "$report"; then
    setpriv --reuid 65534 --regid 65534 --clear-groups "$report" -c "$conf" shelve T3 1h \
        2> "$work/answer.err"
    same 1 $? "status without permission"
    says 'only the group [a-z]* may leave requests in .*usermod -aG' err
else
    echo "unchecked: requests without permission (needs root, setpriv, and a reachable build)"
fi
rmdir "$state/requests"
ask 1 "$report" shelve T3 1h && says 'does not exist; warmsided makes it' err
