#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The simulated room as other programs meet it: the recording, the
# configuration, and the live buses, whose Modbus side is asked by libmodbus.
. "${top_srcdir:-.}/tests/lib.sh"
need python3

# ---- the recording
"$roomsim" record --days 2 --seed 7 > "$work/one.csv" || fail "record"
same time,probe,temperature,humidity "$(head -n 1 "$work/one.csv")" "header"
tail -n +2 "$work/one.csv" > "$work/rows"
sort -s -t, -k1,1n "$work/rows" | cmp -s - "$work/rows" || fail "rows are not in time order"
grep -Evq '^[0-9]+,[a-z0-9]+,-?[0-9]+\.[0-9],([0-9]+\.[0-9])?$' "$work/rows" &&
    fail "a row is not as promised: $(grep -Ev -m1 \
        '^[0-9]+,[a-z0-9]+,-?[0-9]+\.[0-9],([0-9]+\.[0-9])?$' "$work/rows")"
same 72000 "$(wc -l < "$work/rows" | tr -d ' ')" "rows of 25 probes, 2 days, once a minute"
same 1767225600 "$(head -n 1 "$work/rows" | cut -d, -f1)" "first instant"

"$roomsim" record --days 2 --seed 7 | cmp -s - "$work/one.csv" || fail "the same seed differs"
"$roomsim" record --days 2 --seed 8 | cmp -s - "$work/one.csv" && fail "another seed is the same"

# ---- faults in it
"$roomsim" record --days 1 --seed 7 --fault silent:t3c:6h:2h --fault frozen:T1:12h:1h \
    > "$work/faults.csv" || fail "record with faults"
same 1320 "$(grep -c ',t3c,' "$work/faults.csv")" "rows of a probe silent for 2 h of a day"
same 1 "$(awk -F, '$2 == "t1c" && $1 >= 1767225600 + 43200 && $1 < 1767225600 + 46800 \
    { print $3, $4 }' "$work/faults.csv" | sort -u | wc -l | tr -d ' ')" \
    "different readings of a frozen probe"
"$roomsim" record --days 1 --seed 7 --life --calm --fault chattering:t3c:6h:2h \
    --list "$work/faults.json" > "$work/lively.csv" || fail "record --life"
python3 - "$work/faults.json" "$work/lively.csv" << 'END' || fail "the list of mistings"
import csv, json, sys
mistings = json.load(open(sys.argv[1]))['mistings']
times = [misting['time'] for misting in mistings]
assert times == sorted(times) and 1767225600 <= times[0] <= times[-1] < 1767225600 + 86400, times
assert [m['enclosure'] for m in mistings].count('S1') == 4, mistings
assert len(mistings) == 15, mistings
# What was sprayed says 98 % and more, but for its noise, for 20 minutes at least, and has dried
# after two hours; what was not says the truth.
wet = 0
for misting in mistings:
    rows = [(int(row['time']) - misting['time'], float(row['humidity']))
            for row in csv.DictReader(open(sys.argv[2]))
            if row['probe'] == misting['enclosure'].lower() + 'c']
    first = [humidity for since, humidity in rows if 0 < since < 1200]
    later = [humidity for since, humidity in rows if 7200 < since < 9000]
    if 'cool_side' in misting['wet']:
        wet += 1
        assert min(first) > 92 and sum(first) / len(first) > 97, misting
    elif first:
        assert max(first) < misting['to'] + 10, misting
    assert not later or max(later) < misting['to'] + 10, misting
assert wet == 2, wet
END
grep -Eq '^[{]"kind": "chattering", "name": "t3c", "from": 1767247200, "until": 1767254400[}]' \
    "$work/faults.json" || fail "the list of faults: $(cat "$work/faults.json")"
awk -F, '$2 == "t3c" && $1 >= 1767247200 && $1 < 1767254400 { n++; wild += $3 < 15 || $3 > 35 }
    END { exit !(n > 40 && n < 90 && wild > 10) }' "$work/lively.csv" || fail "no loose contact"
"$roomsim" record --fault corrupt:t3c:0:1h > /dev/null 2>&1 && fail "corrupt frames recorded"
"$roomsim" record --fault broken:t3c:0:1h > /dev/null 2> "$work/why" && fail "unknown fault taken"
grep -q "no kind of fault" "$work/why" || fail "no reason given: $(cat "$work/why")"

# ---- the configuration
mkdir "$work/state"
"$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/state" \
    --webhook http://127.0.0.1:9/ > "$work/warmside.conf" || fail "conf"
same 12 "$(grep -c '^enclosure ' "$work/warmside.conf")" "enclosures"
same 25 "$(grep -c '^probe ' "$work/warmside.conf")" "probes"
# A species that the shipped file knows has the bands it has there.
python3 - "$work/warmside.conf" "$top_srcdir/conf/species.conf" << 'END' || fail "other bands"
import re, sys
KEYS = 'day', 'night', 'limits', 'daily', 'limits_patience'

def bands(path):
    found = {}
    species = place = quantity = None
    ordinary = True
    for line in open(path, encoding='utf-8'):
        line = line.split('#')[0]
        for word, value in re.findall(r'(\w+)(?:\s*=)?\s*("[^"]*"|{)', line) + \
                re.findall(r'species ("[^"]*")()', line):
            if word.startswith('"'):
                species, ordinary = word, True
            elif word == 'season':
                ordinary = False
            elif word in ('temperature', 'humidity'):
                quantity = word
            elif value == '{':
                place = word
            elif word in KEYS and ordinary:
                found[species, place, quantity, word] = value
    return found

ours, shipped = (bands(path) for path in sys.argv[1:])
common = {key[0] for key in ours} & {key[0] for key in shipped}
assert len(common) == 7, common
for key, value in ours.items():
    if key[0] in common:
        wanted = shipped.get(key, shipped.get(key[:3] + ('day',)) if key[3] == 'night' else None)
        assert value == wanted, (key, value, wanted)
END
if [ -x "$daemon" ]; then
    "$daemon" -c "$work/warmside.conf" --check > "$work/check" 2>&1 ||
        fail "warmsided finds faults in it: $(cat "$work/check")"
fi

# ---- live: lines on the board
start_room --every 1 --fault silent:t1c:-1min:1h --fault corrupt:t2c:-1min:1h
need timeout
timeout 20 head -n 14 < "$board" > "$work/lines" || fail "the board prints nothing"
same 14 "$(grep -Ec '^(t[1-4]w|g1m|i1e|room),[0-9]+\.[0-9],[0-9]+\.[0-9]$' "$work/lines")" \
    "lines as promised"

# ---- live: the rack, asked by libmodbus
if [ -x "$partner_master" ]; then
    ask()
    {
        "$partner_master" "$rack" "$@" 2> "$work/ask.err"
    }
    found=$(ask 13 1 2) || fail "t3c does not answer: $(cat "$work/ask.err")"
    echo "$found" | awk '{ exit !($1 > 150 && $1 < 350 && $2 > 200 && $2 < 900) }' ||
        fail "t3c reads $found tenths"
    ask 13 0 1 && fail "register 0 exists"
    grep -qi "illegal data address" "$work/ask.err" || fail "register 0: $(cat "$work/ask.err")"
    ask 17 1 1 > /dev/null || fail "the thermometer at 17 does not answer"
    ask 17 1 2 > /dev/null && fail "a thermometer gives humidity"
    ask 240 1 1 > /dev/null && fail "nobody's address answers"
    ask 11 1 2 > /dev/null && fail "a silent probe answers"
    ask 12 1 2 > /dev/null && fail "a corrupt frame passes"
    grep -qi "crc" "$work/ask.err" || fail "corrupt frame: $(cat "$work/ask.err")"
fi

stop "$room_pid"
same 0 "$stop_status" "exit status at SIGTERM"
[ ! -h "$rack" ] && [ ! -h "$board" ] || fail "the links were left behind"
