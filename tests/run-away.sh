#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What warmside away tells of rooms whose keeper leaves them alone, against what
# comes: a cabinet as practice knows it, an enclosure of each build in furnace
# season, and a power cut in the simulated room.  Then its words.
. "${top_srcdir:-.}/tests/lib.sh"
plain_only
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
floors=60
[ -z "${LONG:-}" ] || floors="55 60 62"
for floor in $floors; do
    left=$(python3 "$rooms" practice $floor "$work/p.csv" "$work/p.conf" "$work/p$floor") ||
        fail "no recording"
    replay "$work/p.conf" "$work/p.csv"
    away "$work/p.conf" 3d --to "$left" || fail "no answer"
    cat "$work/answer.out"
    says "P cool side tolerable"
    says "Of humidity alone, P needs nobody before then; it leaves its band, but tolerably."
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

# Nor an alert or a band of later; and however far back it is asked, it looks back 14 days.
band_of_T=$(grep '"enclosure":"T".*"humidity"' "$work/builds/bands.jsonl" | tail -n 1)
later=$((left + 60))
cp -r "$work/builds" "$work/later"
echo "$band_of_T" | sed "s/\"time\":[0-9.]*/\"time\":$later/; s/\"day\":\[[0-9.]*/\"day\":[74/
    s/\"limits\":\[[0-9.]*/\"limits\":[70/" >> "$work/later/bands.jsonl"
tail -n 1 "$work/later/bands.jsonl" | grep -qF '"limits":[70' || fail "no later band is set"
frozen='"enclosure":"T","place":"cool_side","condition":"frozen","priority":"upkeep"'
echo "{\"time\":$later,\"id\":\"ice\",\"event\":\"raised\",$frozen}" >> "$work/later/alerts.jsonl"
sed "s,\"$work/builds\",\"$work/later\"," "$work/builds.conf" > "$work/later.conf"
away "$work/later.conf" 3d --to "$left" --from 0 --format json || fail "no answer"
cmp "$work/first.json" "$work/answer.out" || fail "a later band or alert, or more than 14 days, is read"

# A probe that is told frozen gives values, but nothing to go by.
away "$work/later.conf" 3d --to $((later + 60)) --format json || fail "no answer"
same 1 "$(grep -c '"reason": "an alert stands that its probe is frozen"' "$work/answer.out")" "frozen"
same 1 "$(grep -c '"verdict": null' "$work/answer.out")" "verdicts of null"
away "$work/later.conf" 3d --to $((later + 60)) || fail "no answer"
says "Of T nothing can be told. Of humidity alone, all the other 4 enclosures need somebody, S first,"
says "Nothing can be told of T: an alert stands that its probe is frozen."
frozen='"enclosure":"room","place":"room","condition":"frozen","priority":"upkeep"'
echo "{\"time\":$later,\"id\":\"air\",\"event\":\"raised\",$frozen}" >> "$work/later/alerts.jsonl"
away "$work/later.conf" 3d --to $((later + 60)) || fail "no answer"
says "2 alerts stand, the gravest: T, cool side probe frozen since 09:01. See to that first."
says "Nothing is known of the room's air"

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
says "; of its cool side it is not known."
says "What a power cut would do to"
same 0 "$(grep -c 'See to that first' "$work/answer.out")" "alerts before the cut"
# What is soon is not rounded up, and what stands comes first.
away "$work/room.conf" 3d --to $((cut + 3600)) || fail "no answer"
says "would be below 20.0 °C after about 3 min"
says "2 alerts stand, the gravest: room air temperature below its limits since 14:26. See to that first."
away "$work/room.conf" 3d --to $((cut + 3600)) --format json || fail "no answer"
grep -qF '"standing": 2' "$work/answer.out" || fail "what stands is not counted"
# After it, it is seen how each cools; the first limit is passed already.
away "$work/room.conf" 3d --to $((cut + 36000)) || fail "no answer"
says "is below 20.0 °C already (time constant"

# ---- its words -----------------------------------------------------------------------
away "$work/builds.conf" 3d --to "$left"
says "If nobody comes from 2026-01-26 09:00 to 2026-01-29 09:00 (3 d)"
says "Of humidity alone, 4 of the 5 enclosures need somebody, S first, on Monday afternoon."
says "S cool side needs somebody by Mon 17:20"
says "S needs somebody on Monday afternoon, by 2026-01-26 17:20: the humidity of its cool side may be"
says "days to come are like those since 2026-01-12 09:00"
says "the weather is common to all"
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
says "3 of the 4 enclosures need"
says "S is out of service, and left out."

sed 's/patience = "[^"]*"/patience = "1min"/' "$work/builds.conf" > "$work/hasty.conf"
away "$work/hasty.conf" 3d --to $((left - 3600)) || fail "no answer"
says "4 of the 5 enclosures need somebody, 2 of them now, G first."
says "S needs somebody now: the humidity of its cool side has been below its band for"
away "$work/builds.conf" 3d --to $((left - 3600)) || fail "no answer"
says "is below its band now, for"

# A record that is shorter than what is looked at.
away "$work/builds.conf" 3d --to $((1768176000 + 57 * 3600)) || fail "no answer"
says "days to come are like those since 2026-01-12 00:00"
says "only up to 2 d 9 h of the past are known."

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
says "nothing is known of the room's air, and it was never left unmisted so long."
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
