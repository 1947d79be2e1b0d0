#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# warmside species, before any daemon has run: the table, one species, one
# enclosure, names nobody knows; as text in °C and °F, as JSON and as CSV.
. "${top_srcdir:-.}/tests/lib.sh"
need python3

cp "$top_srcdir/conf/species.conf" "$work"
conf=$work/room.conf
cat > "$conf" << 'END'
include("species.conf")
state = "nowhere"
bus "b" { port = "/dev/none"  speaks = "modbus" }
probe "p" { bus = "b"  address = 1  temperature = "input 1"  humidity = "input 2" }
probe "w" { bus = "b"  address = 2  temperature = "input 1" }
species "plain" { cool_side { temperature { day = "20..25 C"  patience = "20min" } } }
species "moss" { cool_side { humidity {
    day = "50..70 %"  night = "50..90 %"  limits = "30..95 %"  daily = "8h"  limits_patience = "12h"
    source = "day, night: memory; limits, limits_patience: a book; daily: a friend" } } }
enclosure "T1" {
    label = "Rusty"  species = "corn snake"
    warm_side { probe = "w"  temperature { day = "29..31 C"  limits = "9..37 C" } }
    cool_side {
        probe = "p"
        humidity { day = "45..55 %"  patience = "6h"  source = "day: a friend; patience: memory" }
    }
    season "brumation" { from = "11-15"  to = "02-15"  ramp = "14d" }
}
enclosure "T5" { species = "moss"  cool_side { probe = "p"  humidity { daily = "6h" } } }
enclosure "T6" { label = "moss" }
enclosure "T2" { label = "Twin"  species = "corn snake" }
enclosure "T3" { label = "Twin"  warm_side { probe = "w" } }
enclosure "T4" {
    species = "plain"  cool_side { probe = "p" }
    season "long" { until = "2999-01-01"  cool_side { temperature { day = "21..24 C" } } }
}
END

# species NAME...: into species.out and species.err, the status in $?.
species()
{
    "$report" -c "$conf" species "$@" > "$work/species.out" 2> "$work/species.err"
}

# says WORDS: a line of the answer has these, with blanks counted as one.
says()
{
    sed 's/  */ /g; s/^ //' "$work/species.out" | grep -qF -- "$1" || fail "not said: $1"
}

# band SPECIES PLACE: its temperature by day, as the file has it.
band()
{
    sed -n "/^species \"$1\"/,/^}/p" "$top_srcdir/conf/species.conf" |
        sed -n "/^	$2 {/,/^	}/p" | sed -n '/temperature {/,/}/s/.*day = "\(.*\) C".*/\1 °C/p'
}

species || fail "the table"
[ -e "$work/nowhere" ] && fail "a state folder was made"
says "corn snake Pantherophis guttatus 2 $(band "corn snake" warm_side) $(band "corn snake" cool_side) brumation, shedding"
says "plain – 1 – 20..25 °C –"
says "python eggs Pythonidae – $(band "python eggs" eggs) –"
# 34 species in two tables, each with its head and a blank line, and a sentence.
same 39 "$(wc -l < "$work/species.out")" "lines of the tables"
same "species corn snake plain moss" \
    "$(sed -n '1,4s/   *.*//p' "$work/species.out" | paste -sd ' ')" "the kept ones first"
# Where there is no room for scientific names there are none; in a slit each has lines of
# its own, and each value its head.
COLUMNS=80 species || fail "the table at 80 columns"
same 39 "$(wc -l < "$work/species.out")" "lines at 80 columns"
grep -q "Pantherophis" "$work/species.out" && fail "latin at 80 columns"
says "corn snake 2 $(band "corn snake" warm_side) $(band "corn snake" cool_side) brumation, shedding"
COLUMNS=40 species || fail "the table at 40 columns"
says "enclosures 2 warm side $(band "corn snake" warm_side)"
python3 - "$work/species.out" 40 << 'END' || fail "wider than 40 columns"
import sys
assert max(len(line.rstrip("\n")) for line in open(sys.argv[1], encoding="utf-8")) <= int(sys.argv[2])
END

species "corn snake" || fail "a species"
says "corn snake · Pantherophis guttatus"
says "day 28..32 °C memory"
says "patience 1 h built in"
says "patience 12 h built in"
says "limits 10..35 °C upper from Kornnatter: Die richtige Einrichtung für das Terrarium, 2014, C, lower common practice, no source"
says "season brumation · without dates until an enclosure gives them"
says "night 8..13 °C memory"
says "warm side temperature limits: 9..37 °C, in place of 10..36 °C"
says "cool side humidity patience: 6 h, in place of 12 h"
says 'season "brumation": 15 Nov to 15 Feb, coming and going in 14 days'
says "all as above"
says "hot spot temperature, of the surface as an infrared thermometer reads it"
says "Memory is recalled and checked against no document."
says "These are starting points for healthy adults, no veterinary advice."
says "Winter rest is for healthy adults in good condition, with an empty gut"
species plain || fail "a species without sources"
says "day 20..25 °C no source is given"
says "patience 20 min no source is given"
says "no veterinary advice"
grep -q "Winter rest" "$work/species.out" && fail "the rest of a species without one"
# An allowance a day and a patience with limits stand where somebody gave them; an enclosure
# of the same name is told behind the species.
grep -qE "daily|limits_patience" "$work/species.out" && fail "keys nobody gave"
species moss || fail "a species and an enclosure of one name"
says "daily 8 h a friend"
says "limits_patience 12 h a book"
says "cool side humidity daily: 6 h, in place of 8 h"
says "moss, without a species"
species T5 || fail "an enclosure with an allowance of its own"
says "daily 6 h enclosure no source is given"
says "limits_patience 12 h species a book"

# By name and by label; and none of the two that share one.
species T1 || fail "an enclosure"
cp "$work/species.out" "$work/name.out"
species Rusty || fail "an enclosure by its label"
cmp -s "$work/species.out" "$work/name.out" || fail "name and label differ"
says "day 29..31 °C enclosure no source is given"
says "night 18..32 °C species lowest from Kornnatter"
says "day 45..55 % enclosure a friend"
says "patience 6 h enclosure memory"
says "patience 1 h built in"
says "no veterinary advice"
says "Winter rest is for healthy adults"
says "season brumation · 15 Nov to 15 Feb, coming and going in 14 days"
says "Not judged, for want of a probe: hot spot temperature."
says 'The season "shedding" of its species has no dates here'
species T4 || fail "one in a season"
says "today 21..24 °C by day, 21..24 °C by night"
says "season long · until 1 Jan 2999"
species T3 || fail "one that nothing judges"
says "Nothing is judged here"
species Twin && fail "two of one label"
grep -q "T2 and T3 are both labelled Twin" "$work/species.err" || fail "shared label"

species "korn snake"
same 2 $? "the exit status of a name nobody has"
grep -q "did you mean corn snake?" "$work/species.err" || fail "no suggestion"
species corn && fail "half a name is none"
grep -q "did you mean corn snake?" "$work/species.err" || fail "no suggestion for half a name"
species okapi && fail "no such animal"
grep -q "warmside species lists" "$work/species.err" || fail "no way out"
species one two
same 2 $? "the exit status of two names"

sed -i '1i units = "F"' "$conf"
species "corn snake" || fail "in °F"
says "day 82.4..89.6 °F memory"
printf 'state = "nowhere"\n' > "$work/empty.conf"
"$report" -c "$work/empty.conf" species > "$work/species.out" || fail "none at all"
says "No species is configured"
printf 'species "s" { cool_side { temperature { day = "3 C" } } }\n' > "$work/faulty.conf"
"$report" -c "$work/faulty.conf" species > "$work/species.out" 2> "$work/species.err"
same 1 $? "the exit status with faults"

# JSON and CSV agree, in °C whatever the units are.
for name in "" T1 T5 "corn snake"; do
    species ${name:+"$name"} --format json && cp "$work/species.out" "$work/answer.json" &&
        species ${name:+"$name"} --format csv && cp "$work/species.out" "$work/answer.csv" ||
        fail "JSON and CSV of '$name'"
    python3 - "$work/answer.json" "$work/answer.csv" "$name" << 'END' || fail "JSON or CSV of '$name'"
import csv, json, sys

answer = json.load(open(sys.argv[1], encoding="utf-8"))
rows = list(csv.DictReader(open(sys.argv[2], encoding="utf-8", newline="")))
of_enclosure = sys.argv[3] in ("T1", "T5")
assert list(answer) == ["enclosures" if of_enclosure else "species"], list(answer)

def number(text):
    return float(text) if text else None

def check(owner, season, place, row):
    assert row["species"] == (owner["species"] if of_enclosure else owner["name"])
    assert row["enclosure"] == (owner["name"] if of_enclosure else "")
    assert (row["season"], row["place"], row["quantity"], row["unit"]) == \
        (season, place["place"], place["quantity"], place["unit"])
    for key in "day", "night", "limits":
        ends = [number(row[key + "_low"]), number(row[key + "_high"])]
        assert ends == (place[key] or [None, None]), (row, place)
        assert place[key] is None or place[key][0] < place[key][1]
    for key in "patience_seconds", "daily_seconds", "limits_patience_seconds":
        assert number(row[key]) == place[key], (key, row, place)
    for key, source in place["sources"].items():
        assert (source or "") == row[key + "_source"]
        if of_enclosure:
            assert (place["said_by"][key] or "") == row[key + "_by"]

owners = answer["enclosures" if of_enclosure else "species"]
assert len(owners) == (34 if not sys.argv[3] else 1)
told = [(owner, season["name"] if season else "", place)
        for owner in owners for season in [None] + owner["seasons"]
        for place in (season or owner)["places"]]
assert len(told) == len(rows) > 0, (len(told), len(rows))
for (owner, season, place), row in zip(told, rows):
    check(owner, season, place, row)
if sys.argv[3] == "T5":
    damp = owners[0]["places"][0]
    assert (damp["daily_seconds"], damp["limits_patience_seconds"]) == (21600, 43200), damp
    sys.exit()
corn = next(owner for owner in owners if owner["name"] in ("corn snake", "T1"))
assert corn["species" if of_enclosure else "enclosures"] == \
    ("corn snake" if of_enclosure else ["T1", "T2"])
for place in owners[0]["places"]:
    assert ("today" in place) == of_enclosure, place
warm = next(place for place in corn["places"] if place["place"] == "warm_side")
assert warm["day"] == ([29, 31] if of_enclosure else [28, 32]), warm
assert warm["patience_seconds"] == 3600 and warm["sources"]["patience"] is None
rest = next(season for season in corn["seasons"] if season["name"] == "brumation")
assert (rest["from"], rest["to"], rest["until"], rest["ramp_days"]) == \
    (("11-15", "02-15", None, 14) if of_enclosure else (None, None, None, 0)), rest
END
done
species moss --format json || fail "JSON of a shared name"
python3 -c 'import json, sys
answer = json.load(open(sys.argv[1], encoding="utf-8"))
assert [answer["species"][0]["name"], answer["enclosures"][0]["name"]] == ["moss", "T6"], answer
' "$work/species.out" || fail "a species and an enclosure of one name in JSON"
