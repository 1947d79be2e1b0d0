#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The report tool as a whole: its answers in each format, its exit statuses,
# and what it says when something it reads is missing, old, torn or damaged.
. "${top_srcdir:-.}/tests/lib.sh"
need rrdtool python3

conf=$work/room.conf
state=$work/state
hour=1767603600 # 2026-01-05T09:00:00Z

mkdir -p "$state/archive"
cat > "$conf" << END
units = "F"
state = "$state"
bus "rack" { port = "/dev/none"  speaks = "modbus"  baud = 9600  parity = "none"  every = "10s" }
probe "a" { bus = "rack"  address = 1  temperature = "input 1 / 10"  humidity = "input 2 / 10" }
probe "b" { bus = "rack"  address = 2  temperature = "input 1 / 10" }
probe "r" { bus = "rack"  address = 3  temperature = "input 1 / 10" }
room { probe = "r"  temperature { day = "18..28 C" limits = "10..35 C" } }
enclosure "T1" { label = "Büschel"  build = "glass"  cool_side { probe = "a"  humidity { day = "45..60 %" limits = "25..85 %" } } }
enclosure "T2" { warm_side { probe = "b"  temperature { day = "27..31 C" limits = "15..36 C" } } }
END

# Half the time 40 % (5 below), half the time 50 %; a third unknown.
archive T1 cool_h 40:1:0:1:5 50:0:0:1:0 U:0:0:0:0
archive T2 warm_t 20:1:0:1:7 20:1:0:1:7

# ask STATUS ARGUMENTS...: runs the tool; its output is in $work/answer.out.
ask()
{
    wanted_status=$1
    shift
    "$report" -c "$conf" "$@" > "$work/answer.out" 2> "$work/answer.err"
    same "$wanted_status" $? "status of warmside $*"
}

# says PATTERN [out|err]
says()
{
    grep -q -- "$1" "$work/answer.${2:-out}" || fail "'$1' is not said"
}

# check EXPRESSION: a Python expression over the JSON answer `a`.
check()
{
    python3 -c "import json, sys
a = json.load(open(sys.argv[1]))
sys.exit(not ($1))" "$work/answer.out" || fail "not so: $1"
}

window="--from $((hour - 3600)) --to $hour"

# ---- usage ---------------------------------------------------------------------
ask 0 --help && says 'graph ENCLOSURE'
ask 0 --version && says '^warmside [0-9]'
ask 2
ask 2 nonsense
ask 2 totals --format png
ask 2 totals --from yesterdaay && says 'yesterdaay' err
ask 2 totals --size 400x400
ask 2 graph
ask 2 graph T1 --scale 20-35 -o "$work/b.png" && says '20-35 is none' err
ask 2 graph T1 --scale '20..20 C' -o "$work/b.png" && says 'no room between' err
ask 2 graph T1 --scale '20..35 C' --scale '68..95 F' -o "$work/b.png" && says 'second' err
ask 2 totals --scale '20..35 C' && says 'belongs to graph' err
ask 2 totals --save && says 'belongs to drying' err
ask 2 graph T1 -o "$work/b.bmp" && says 'b.bmp: a picture is a .png or an .svg' err
ask 2 graph T9 -o "$work/t9.png" && says 'there are T1, T2, room' err
"$report" -c "$work/none.conf" totals 2> "$work/answer.err"
same 1 $? "status without a configuration"
says none.conf err

# ---- totals and excursions -----------------------------------------------------
# shellcheck disable=SC2086 # $window is two options
{
    ask 0 $window totals --format json
    check "a['from'] == $hour - 3600 and a['to'] == $hour"
    check "[e['name'] for e in a['enclosures']] == ['T1', 'T2', 'room']"
    check "a['enclosures'][2]['species'] is None and a['enclosures'][2]['build'] is None"
    check "a['enclosures'][0]['build'] == 'glass'"
    check "{p['quantity']: p['low_seconds'] for p in a['enclosures'][0]['places']} == {'temperature': None, 'humidity': 1200.0}"
    check "[p for p in a['enclosures'][0]['places'] if p['quantity'] == 'humidity'][0] == {'place': 'cool_side', 'quantity': 'humidity', 'unit': '%', 'low_seconds': 1200.0, 'high_seconds': 0.0, 'inside_seconds': 1200.0, 'unknown_seconds': 1200.0, 'degree_hours': 1.666667, 'min': 40.0, 'mean': 45.0, 'max': 50.0}"
    check "a['enclosures'][2]['places'][0]['unknown_seconds'] == 3600.0"
    says 'room.rrd does not exist' err
    ask 0 totals $window && says 'T1 · Büschel' && says '68.0 °F'
    ask 0 totals $window --format csv
    same "$hour,T2" "$(sed -n 's/^[0-9]*,\([0-9]*,T2\),.*/\1/p' "$work/answer.out")" "the csv"
    ask 0 excursions $window --format json
    check "len([e for e in a['excursions'] if e['enclosure'] == 'T1']) == 20"
    check "[(e['from'], e['to'], e['worst'], e['side'], e['beyond_limits']) for e in a['excursions'] if e['enclosure'] == 'T2'] == [($hour - 3600, None, 20.0, 'below', False)]"
    ask 0 excursions $window && says '20 shorter than 5 min, 20 min in all'
}

# ---- the alert log --------------------------------------------------------------
ask 0 alerts && says 'Nothing stands'
cat > "$state/alerts.jsonl" << END
{"time":$hour,"id":"a","message":"m","event":"raised","enclosure":"T1","place":"cool_side","quantity":"humidity","condition":"below_band","priority":"today","value":40,"since":$((hour - 60))}
{"time":$hour,"id":"b","ev
END
ask 0 alerts --format json --from $hour --to $((hour + 60))
check "[r['id'] for r in a['standing']] == ['a'] and len(a['history']) == 1"
check "a['standing'][0]['worst'] is None and a['standing'][0]['condition'] == 'below_band'"
says '1 line is passed over' err
ask 0 alerts && says 'cool side humidity below its band'
day_ago=$(($(date +%s) - 86400))
cat > "$state/alerts.jsonl" << END
{"time":$((day_ago - 120)),"id":"a","message":"m","event":"raised","enclosure":"T1","place":"cool_side","quantity":"humidity","condition":"below_band","priority":"today","value":40}
{"time":$((day_ago + 600)),"id":"b","message":"n","event":"raised","enclosure":"T2","condition":"delivery","webhook":"mail","priority":"upkeep"}
{"time":$((day_ago + 601)),"id":"b","message":"n","event":"delivered","webhook":"phone"}
{"time":$((day_ago + 603)),"id":"b","message":"n","event":"delivered","webhook":"pager"}
{"time":$((day_ago + 600)),"id":"a","event":"acknowledged","enclosure":"T1","by":"anna","note":"misted"}
{"time":$((day_ago + 800)),"id":"c","message":null,"event":"raised","enclosure":"T2","place":"warm_side","quantity":"temperature","condition":"runaway","priority":"now","value":34}
{"time":$((day_ago + 900)),"id":"c","message":"o","event":"cleared","enclosure":"T2","place":"warm_side","quantity":"temperature","condition":"runaway","priority":"now","value":30}
{"time":$((day_ago + 1000)),"id":"t","message":"p","event":"test","by":"ben"}
{"time":$((day_ago + 1001)),"id":"","event":"shelved","enclosure":"T1","until":$((day_ago + 2000)),"by":"anna"}
{"time":$((day_ago + 1002)),"id":"","event":"shelved","enclosure":"T2","until":$((day_ago + 90000)),"by":"anna","note":"cleaning"}
{"time":$((day_ago + 1003)),"id":"ghost","message":"q","event":"reminded","enclosure":"T2","condition":"silent","priority":"now"}
END
ask 0 alerts
says '^today .*T1 · Büschel .* stale, 1 d .* anna: misted$'
says '^upkeep .* webhook "mail" takes no messages .* –$'
says '^T2 is shelved until .*(anna: cleaning).$'
grep -q '^T1.* is shelved' "$work/answer.out" && fail "a shelving that is over is shown"
says ' raised .*webhook "mail" .* phone [0-9: -]*, pager [0-9: -]*$'
says ' raised .*warm side temperature heading for its limit .* nobody$'
says ' cleared .* not yet$'
says ' test .*test message, not counted; ben'
says '^2 raised, 0 worsened, 1 reminded, 1 cleared, 1 acknowledged. 1 test, not counted. Of those raised 1 was told to nobody.$'
says '^Longest: T1 cool side humidity below its band, 1 d, and stands.$'
says '^Stale, standing for more than 24 h: 1.$'
says '^Acknowledged after 12 min (median of 1), at the longest 12 min.$'
says '^By priority: now 1 (50 %), today 0 (0 %), upkeep 1 (50 %).$'
says '^ *1 *50 % *T2 *warm side temperature heading for its limit$'
grep -q ' delivered ' "$work/answer.out" && fail "a delivery stands apart from what it told"
ask 0 alerts --format json
check "[r['id'] for r in a['standing']] == ['a', 'b'] and len(a['history']) == 10"
check "a['figures']['stale'] == ['a'] and a['figures']['longest']['id'] == 'a' and a['figures']['frequent'][0]['share'] == 0.5"
ask 0 alerts --format csv
same 13 "$(wc -l < "$work/answer.out")" "lines of csv"
says '^history,.*,shelved,T2,.*,anna,cleaning$'

# ---- now -----------------------------------------------------------------------
ask 1 now && says 'no daemon has written here' err
cat > "$state/now.json" << END
{"time": $hour, "enclosures": [{"name": "T2", "state": "straying", "places": [{"place": "warm_side", "quantity": "temperature",
 "value": 20, "time": $hour, "state": "straying", "band": [27, 31], "limits": [15, 36]}]}], "buses": []}
END
ask 0 now && says 'These readings are old' && says '68.0 °F' && says straying
ask 0 now --format json && says 'readings are old' err
check "a == {'time': $hour, 'enclosures': [{'name': 'T2', 'state': 'straying', 'places': [{'place': 'warm_side', 'quantity': 'temperature', 'value': 20, 'time': $hour, 'state': 'straying', 'band': [27, 31], 'limits': [15, 36]}]}]}"
echo '{"time": 1' > "$state/now.json"
ask 1 now && says 'now.json is damaged' err

# ---- graphs --------------------------------------------------------------------
# shellcheck disable=SC2086
{
    ask 0 graph T1 $window -o "$work/a.png" --size 700x500
    same '89504e470d0a1a0a' "$(od -An -tx1 -N8 "$work/a.png" | tr -d ' ')" "the PNG's signature"
    ask 0 graph T1 cool_side $window -o "$work/a.svg"
    # Parsed by another: text, and no number of a path more than two decimals.
    python3 -c "import re, sys, xml.etree.ElementTree as tree
root = tree.parse(sys.argv[1]).getroot()
name = '{http://www.w3.org/2000/svg}'
paths = [p.get('d') for p in root.iter(name + 'path')]
assert len(paths) > 10 and not any(re.search(r'\.\d\d\d', d) for d in paths)
assert 'cool side humidity' in [t.text for t in root.iter(name + 'text')]
assert root.find(name + 'title').text and root.find(name + 'desc').text" "$work/a.svg" ||
        fail "the SVG is not as it should be"
    ask 0 graph T1 cool_side $window --scale '30..70 %' -o "$work/a.svg"
    grep -q '>70 %</text>' "$work/a.svg" || fail "the scale was not taken"
    ask 0 graph T2 $window --format svg && says '>T2</text>'
    ask 0 graph Büschel $window -o "$work/label.svg"
    same "$(cat "$work/label.svg")" "$("$report" -c "$conf" graph T1 $window --format svg)" \
        "the graph by label and by name"
    ask 2 graph Büschl $window && says 'no enclosure is named or labelled Büschl; did you mean Büschel?' err
    {
        cat "$conf"
        echo 'enclosure "T3" { label = "Büschel"  cool_side { probe = "b" } }'
        echo 'enclosure "T4" { label = "T2" }'
    } > "$work/twins.conf"
    "$report" -c "$work/twins.conf" graph Büschel $window 2> "$work/answer.err" > "$work/answer.out"
    same 2 $? "status of a label that two share"
    says 'T1 and T3 are both labelled Büschel; say the name' err
    "$report" -c "$work/twins.conf" graph T2 $window --format svg > "$work/answer.out"
    says '>T2</text>' # a name goes before another one's label
    ask 2 graph T2 attic $window -o "$work/b.png"
    ask 1 graph T2 eggs $window -o "$work/b.png"
    ask 1 graph T2 $window -o "$work/none/b.png" && says 'cannot be written' err

    # ---- a damaged archive: said, and the others go on ------------------------
    printf '\377\377\377\377\377\377\377\377' |
        dd of="$state/archive/T1.rrd" bs=1 seek=32 conv=notrunc 2> "$work/dd.err"
    ask 1 totals $window --format json
    says 'T1.rrd is damaged' err
    check "a['enclosures'][0]['places'][1]['unknown_seconds'] == 3600.0"
    check "a['enclosures'][1]['places'][0]['low_seconds'] == 3600.0"
    ask 1 graph T1 $window -o "$work/b.png"

    # ---- damaged rows: numbers that cannot be are unknown time, not readings ---
    # All rows there are: where a round robin begins is chance.
    size=$(stat -c %s "$state/archive/T2.rrd")
    tr '\0' A < /dev/zero |
        dd of="$state/archive/T2.rrd" bs=1k seek=12 count=$((size / 1024 - 12)) iflag=fullblock \
            conv=notrunc 2> "$work/dd.err"
    ask 1 totals $window --format json
    says 'T2: .* rows of its archive hold numbers that cannot be' err
    check "a['enclosures'][1]['places'][0]['unknown_seconds'] > 0"
    check "all(x is None or abs(x) < 1e4 for x in (a['enclosures'][1]['places'][0][k] for k in ('min', 'mean', 'max', 'degree_hours')))"

    # ---- an alert log that cannot be read: said, and the rest is shown ---------
    rm -f "$state/alerts.jsonl"
    ask 1 morning $window --format text && says 'There is no alert log yet'
    mkdir "$state/alerts.jsonl"
    ask 1 alerts && says 'alerts.jsonl cannot be read' err
    ask 1 morning $window --format text
    says 'The alert log cannot be read: what stands is not known'
    says 'alerts.jsonl cannot be read' err
    rmdir "$state/alerts.jsonl"
}
rm -r "$state"
ask 1 totals && says 'state folder' err
