#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What warmside away tells of rooms whose keeper leaves them alone, against what
# comes: a cabinet as practice knows it, an enclosure of each build in furnace
# season, and a power cut in the simulated room.  Then its words.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
rooms=$top_srcdir/tests/reference/away.py

# replay CONF RECORDING
replay()
{
    "$daemon" -c "$1" --replay "$2" > "$work/replay.out" 2> "$work/replay.err" ||
        fail "the replay failed"
}

# away CONF ARGUMENT...: the answer is in $work/answer.out
away()
{
    away_conf=$1
    shift
    "$report" -c "$away_conf" away "$@" > "$work/answer.out" 2> "$work/answer.err"
}

# says WORDS: they stand in the last answer, whatever its lines.
says()
{
    tr -s ' \n' '  ' < "$work/answer.out" | grep -qF "$1" || fail "it does not say: $1"
}

# refuses WORDS ARGUMENT...: a wrong call, and the one sentence about it.
refuses()
{
    refuses_words=$1
    shift
    away "$work/builds.conf" "$@"
    same 2 $? "exit status of away $*"
    grep -qF "$refuses_words" "$work/answer.err" || fail "away $* does not say: $refuses_words"
    same 1 "$(wc -l < "$work/answer.err")" "sentences about away $*"
}

# ---- common practice, no source: only a check -----------------------------------
for floor in 55 60 62; do
    left=$(python3 "$rooms" practice $floor "$work/p.csv" "$work/p.conf" "$work/p$floor") ||
        fail "no recording"
    replay "$work/p.conf" "$work/p.csv"
    away "$work/p.conf" 3d --to "$left" || fail "no answer"
    cat "$work/answer.out"
    says "P cool side tolerable"
done

# ---- an enclosure of each build ----------------------------------------------------
left=$(python3 "$rooms" builds "$work/b.csv" "$work/builds.conf" "$work/builds" \
    "$work/truth.json") || fail "no recording"
replay "$work/builds.conf" "$work/b.csv"
away "$work/builds.conf" 3d --to "$left" --format json || fail "no answer"
python3 "$rooms" hold "$work/truth.json" "$work/answer.out" || fail "it is not what comes"
cp "$work/answer.out" "$work/first.json"

# Only what was before --to is read: what came afterwards changes nothing.
awk -F, -v until="$left" 'NR == 1 || $1 <= until - 86400' "$work/b.csv" > "$work/cut.csv"
sed "s,\"$work/builds\",\"$work/cut\"," "$work/builds.conf" > "$work/cut.conf"
replay "$work/cut.conf" "$work/cut.csv"
before=$((left - 86400))
away "$work/cut.conf" 3d --to $before --format csv && mv "$work/answer.out" "$work/cut.out"
away "$work/builds.conf" 3d --to $before --format csv || fail "no answer"
cmp "$work/cut.out" "$work/answer.out" || fail "later records are read"

# ---- a power cut -------------------------------------------------------------------
"$roomsim" record --calm --life --days 16 --every 60 --fault power-cut:room:15d14h:12h \
    --list "$work/list.json" > "$work/r.csv" || fail "no recording"
"$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/room" --every 60 |
    sed 's/"1[0-9]\.\.\([0-9]* C"\)/"20..\1/g' > "$work/room.conf"
replay "$work/room.conf" "$work/r.csv"
cut=$((1767225600 + 15 * 86400 + 14 * 3600))
away "$work/room.conf" 3d --to $cut --format json || fail "no answer"
python3 "$rooms" cut "$work/r.csv" "$work/list.json" "$work/answer.out" ||
    fail "it cools otherwise"
away "$work/room.conf" 3d --to $cut || fail "no answer"
says "the warm side would be below 20.0 °C after about"
says "What a power cut would do to"
# After it, it is seen how each cools; the first limit is passed already.
away "$work/room.conf" 3d --to $((cut + 36000)) || fail "no answer"
says "is below 20.0 °C already (time constant"

# ---- its words -----------------------------------------------------------------------
away "$work/builds.conf" 3d --to "$left"
says "If nobody comes from 2026-01-26 09:00 to 2026-01-29 09:00 (3 d)"
says "of 5 enclosures need"
says "S needs somebody on Monday"
says "T cool side holds not within 3 d"
says "This is no promise."
COLUMNS=40 away "$work/builds.conf" 3d --to "$left"
same 0 "$(LC_ALL=C.UTF-8 awk 'length > 40' "$work/answer.out" | wc -l)" "lines of more than 40 columns"
{ echo 'units = "F"' && sed '/^enclosure "S"/s/{/{ in_service = no/' "$work/room.conf" |
    grep -v '^units'; } > "$work/f.conf"
away "$work/f.conf" 3d --to $cut || fail "no answer"
says "would be below 68.0 °F after about"
sed '/^enclosure "S"/s/{/{ in_service = no/' "$work/builds.conf" > "$work/less.conf"
away "$work/less.conf" 3d --to "$left"
says "of 4 enclosures need"
says "S is out of service, and left out."

# Nothing is told of what is not known, and why.
away "$work/builds.conf" 3d --to $((left + 7200)) || fail "no answer"
says "Nothing can be told of T, G, S, P and M: no reading in the last hour."
away "$work/builds.conf" 3d --to "$left" --from $((left - 43200)) || fail "no answer"
says "too little of the past is known"
away "$work/builds.conf" 3d --to "$left" --from $((left - 43200)) --format json || fail "no answer"
same 5 "$(grep -c '"verdict": null' "$work/answer.out")" "verdicts of null"
sed 's/^room .*//' "$work/builds.conf" > "$work/noroom.conf"
away "$work/noroom.conf" 3d --to "$left" || fail "no answer"
says "Nothing is known of the room's air: anything from quite dry"
says "nothing is known of the room's temperature"
sed 's,^state.*,state = "/",' "$work/builds.conf" > "$work/none.conf"
away "$work/none.conf" 3d --to "$left"
same 1 $? "exit status without any archive"

for duration in 59min 31d soon 3 -3d; do
    refuses "write a duration from 1h to 30d, for example 3d" -- "$duration"
done
refuses "usage: warmside away DURATION"
refuses "away gives text, json or csv" 3d --format png
away "$work/builds.conf" 1h --to "$left" || fail "1h is refused"
away "$work/builds.conf" 30d --to "$left" || fail "30d is refused"
says "If nobody comes from 2026-01-26 09:00 to 2026-02-25 09:00 (30 d)"
