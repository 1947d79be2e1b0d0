#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A recording over a season, across the night on which clocks go forward: the log
# of bands has a line at each step, at the very change to day, also when the
# recording comes in two parts; seconds, excursions and `now` follow; the picture
# has its ribbon in the past and in days to come.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
TZ=Europe/Berlin
export TZ
reference=$top_srcdir/tests/reference/season.py
begin=2026-03-26T12:00 middle=2026-03-29T05:00 end=2026-04-05T12:00

conf()
{
    cat << END
state = "$work/$1"
day { from = "08:00"  to = "20:00"  changeover = "0s" }
archive { minutes = "20d"  ten_minutes = "20d"  hours = "20d" }
bus "board" { port = "$work/no"  speaks = "lines"  line = "{probe},{temperature}"  every = "60s" }
probe "p" { bus = "board" }
species "snake" {
  cool_side { temperature { day = "22..26 C"  limits = "10..32 C" } }
  season "brumation" {
    ramp = "3d"
    cool_side { temperature { day = "9..14 C"  night = "8..13 C"  limits = "2..24 C" } }
  }
}
enclosure "T1" { species = "snake"
  cool_side { probe = "p" }
  season "brumation" { $2 }
}
END
}
dates='from = "03-27"  to = "04-03"'
conf whole "$dates" > "$work/whole.conf"
conf parts "$dates" > "$work/parts.conf"

# ---- remarks of --check
remarks()
{
    conf none "$1" > "$work/remark.conf"
    "$daemon" -c "$work/remark.conf" --check > "$work/remark" || fail "it is refused: $1"
    grep '^note: season' "$work/remark"
}
same 'note: season "brumation" of enclosure "T1" is never in force: it has no dates' \
    "$(remarks "")" "a season without dates"
same "" "$(remarks "$dates")" "a season with dates"
same 'note: season "care" of enclosure "T1" changes nothing: it says nothing of any place, and its species has no season of that name' \
    "$(remarks "$dates } season \"care\" { $dates")" "a season that says nothing"

# ---- the log of bands
python3 "$reference" record $begin $end > "$work/whole.csv" || fail "no recording"
replay()
{
    "$daemon" -c "$work/$1.conf" --replay "$work/$2.csv" >> "$work/replay.out" \
        2> "$work/replay.err" || fail "the replay of $2"
}
replay whole whole
python3 "$reference" bands "$work/whole/bands.jsonl" $begin || fail "bands of the whole"
python3 "$reference" record $begin $middle > "$work/first.csv"
python3 "$reference" record $middle $end | sed 2d > "$work/second.csv"
replay parts first
replay parts second
python3 "$reference" bands "$work/parts/bands.jsonl" $begin || fail "bands of two parts"

# ---- what comes of them
for state in whole parts; do
    python3 "$reference" out $begin $end "$work/$state.conf" "$report" || fail "$state: other figures"
done
grep -q '^2026-03-29 09:00  would send: T1 cool side too hot, 19.5 °C' "$work/replay.out" || fail "not told: $(cat "$work/replay.out")"

# ---- the picture: days to come are those of the configuration while it says what
# the log says last, and the last band stays where it does not
python3 "$reference" record $begin $middle > "$work/first.csv"
rm -r "$work/parts"
replay parts first
draw()
{
    "$report" -c "$work/parts.conf" graph T1 --from $begin --to $end -o "$work/$1.svg" \
        > "$work/graph.out" 2>&1 || fail "no picture: $(cat "$work/graph.out")"
}
draw coming
sed 's/from = "03-27"/from = "03-26"/' "$work/parts.conf" > "$work/edited"
mv "$work/edited" "$work/parts.conf"
draw edited
cmp -s "$work/coming.svg" "$work/edited.svg" && fail "the ribbon does not look ahead"
exit 0
