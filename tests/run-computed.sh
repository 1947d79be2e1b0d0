#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The humidity of a hot spot that has a thermometer only, through the whole chain:
# archived, totalled, alerted and drawn like a measured one, and called computed
# wherever it is named.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
reference=$top_srcdir/tests/reference/computed.py
begin=1767261600 # 2026-01-01T10:00:00Z

# conf STATE RULE: the room, with what is wanted of the hot spot's humidity
conf()
{
    cat << END
state = "$work/$1"
archive { minutes = "2d"  ten_minutes = "3d"  hours = "4d" }
bus "slow" { port = "$work/none"  speaks = "lines"  line = "{probe},{temperature}"  every = "60s" }
bus "board" { port = "$work/no"  speaks = "lines"  line = "{probe},{temperature},{humidity}"  every = "60s" }
probe "hot" { bus = "slow" }
probe "cool" { bus = "board" }
enclosure "L1" { label = "Lamp lodge"
  hot_spot { probe = "hot"  temperature { day = "20..45 C" } $2 }
  cool_side { probe = "cool"  humidity { day = "30..80 %" } } }
END
}
banded='humidity { day = "30..60 %"  limits = "5..95 %"  patience = "30min" }'
conf state "$banded" > "$work/room.conf"

"$daemon" -c "$work/room.conf" --check > "$work/check" || fail "it is refused: $(cat "$work/check")"
grep -q "not judged" "$work/check" && fail "--check does not know that it is computed"
sed 's/  cool_side { probe = "cool"/  humid_hide { probe = "cool"/' "$work/room.conf" > "$work/hide.conf"
"$daemon" -c "$work/hide.conf" --check > "$work/check" || fail "a hide alone is refused"
grep -q '^note: enclosure "L1": the humidity of its hot spot is not judged: the probe there gives none' \
    "$work/check" || fail "nothing said of a band that nothing is held against: $(cat "$work/check")"

# ---- archived, totalled
python3 "$reference" record $begin 6 > "$work/lamp.csv" || fail "no recording"
"$daemon" -c "$work/room.conf" --replay "$work/lamp.csv" > "$work/replay.out" \
    2> "$work/replay.err" || fail "the replay"
python3 "$reference" check $begin 6 "$report" "$work/room.conf" || fail "other values"

# ---- told
grep -q "would send: Lamp lodge hot spot too dry, 2[0-9] % (computed)" "$work/replay.out" ||
    fail "told as: $(cat "$work/replay.out")"
grep -q '"event":"raised".*"place":"hot_spot","quantity":"humidity","condition":"below_band".*"computed":true' \
    "$work/state/alerts.jsonl" || fail "not in the alert log: $(cat "$work/state/alerts.jsonl")"
same 1 "$(grep -c '"condition":"silent"' "$work/state/alerts.jsonl" |
    awk '{ print ($1 > 0) }')" "the source's silence is told"
grep '"condition":"silent"' "$work/state/alerts.jsonl" | grep -qv '"place":"cool_side"' &&
    fail "another place than the source's is called silent"

# ---- shown
window="--from $begin --to $((begin + 21600))"
ask()
{
    # shellcheck disable=SC2086 # options
    "$report" -c "$work/room.conf" "$@" $window > "$work/ask.out" 2> "$work/ask.err" ||
        fail "warmside $*: $(cat "$work/ask.err")"
}
said="hot spot humidity (computed)"
for command in totals excursions alerts now "morning --format text"; do
    # shellcheck disable=SC2086
    ask $command
    grep -qiF "$said" "$work/ask.out" || fail "$command does not say it: $(cat "$work/ask.out")"
    grep -q "cool side humidity (computed)\|temperature (computed)" "$work/ask.out" &&
        fail "$command says it of what is measured"
done
ask excursions --format json
python3 - "$work/ask.out" << 'END' || fail "excursions --format json"
import json, sys
found = json.load(open(sys.argv[1]))['excursions']
assert found and all(e['computed'] is True for e in found if e['place'] == 'hot_spot'), found
END
ask now --format json
python3 - "$work/ask.out" << 'END' || fail "now --format json"
import json, sys
places = json.load(open(sys.argv[1]))['enclosures'][0]['places']
assert [(p['place'], p['quantity']) for p in places if p.get('computed')] == \
    [('hot_spot', 'humidity')], places
assert next(p for p in places if p.get('computed'))['band'] == [30, 60], places
END
ask morning --format html -o "$work/page.html"
grep -q "<figcaption><b>hot spot humidity (computed)</b>" "$work/page.html" || fail "the page"
ask graph L1 --format svg -o "$work/graph.svg"
grep -q "hot spot humidity (computed)" "$work/graph.svg" || fail "the graph"

# ---- a band given later: the archive goes on, and has it from the next full hour
conf later "" > "$work/bare.conf"
conf later "$banded" > "$work/later.conf"
sed -n '1p; 2,$p' "$work/lamp.csv" | awk -F, -v at=$((begin + 9000)) 'NR == 1 || $1 < at' \
    > "$work/first.csv"
awk -F, -v at=$((begin + 9000)) 'NR == 1 || $1 >= at' "$work/lamp.csv" > "$work/second.csv"
"$daemon" -c "$work/bare.conf" --replay "$work/first.csv" > "$work/replay.out" \
    2> "$work/replay.err" || fail "the replay without a band"
"$report" -c "$work/bare.conf" totals --format json --from $begin --to $((begin + 9000)) |
    grep -q computed && fail "it is archived though nobody wants it"
"$report" -c "$work/bare.conf" now --format json | grep -q '"computed": true' ||
    fail "it is not shown though it is known"
"$daemon" -c "$work/later.conf" --replay "$work/second.csv" > "$work/replay.out" \
    2> "$work/replay.err" || fail "the replay with a band"
python3 - "$report" "$work/later.conf" $begin << 'END' || fail "what an archive keeps"
import json, subprocess, sys
report, conf, begin = sys.argv[1], sys.argv[2], int(sys.argv[3])

def unknown(start, end):
    out = subprocess.run([report, '-c', conf, 'totals', '--format', 'json', '--from', str(start),
                          '--to', str(end)], check=True, capture_output=True).stdout
    return {(p['place'], p['quantity']): p['unknown_seconds']
            for p in json.loads(out)['enclosures'][0]['places']}

before = unknown(begin + 600, begin + 8400)
assert before['hot_spot', 'temperature'] == 0, before
assert before['hot_spot', 'humidity'] == 7800, before
after = unknown(begin + 10800, begin + 12000)
assert after['hot_spot', 'humidity'] == 0 and after['hot_spot', 'temperature'] == 0, after
END

# ---- live, and a band given by SIGHUP
start_room --every 1
"$roomsim" conf --rack "$rack" --board "$board" --state "$work/live" --every 1 > "$work/live.conf"
start daemon "$daemon" -c "$work/live.conf"
daemon_pid=$started_pid

# shown BAND: is the hot spot's humidity of S1 there, with that band?
shown()
{
    python3 - "$work/live/now.json" "$1" 2> /dev/null << 'END'
import json, sys
now = json.load(open(sys.argv[1]))
home = next(e for e in now['enclosures'] if e['name'] == 'S1')
place = next(p for p in home['places'] if p.get('computed'))
assert place['place'] == 'hot_spot' and 0 < place['value'] < 100
assert json.dumps(place['band']) == sys.argv[2]
END
}
wait_until 30 shown null || fail "it is not shown live"
sed 's/hot_spot { probe = "s1h" }/hot_spot { probe = "s1h"  humidity { day = "1..99 %" } }/' \
    "$work/live.conf" > "$work/new.conf"
cmp -s "$work/new.conf" "$work/live.conf" && fail "no band was added"
mv "$work/new.conf" "$work/live.conf"
kill -HUP $daemon_pid
wait_until 30 shown "[1.0, 99.0]" || fail "the band does not come by SIGHUP"
stop $daemon_pid
same 0 "$stop_status" "exit status"
