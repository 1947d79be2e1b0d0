#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# --replay: what it prints, where it writes, what it refuses, how it goes on.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
start_hook

cat > "$work/room.conf" << END
state = "$work/state"
archive { minutes = "2d"  ten_minutes = "3d"  hours = "4d" }
bus "board" { port = "$work/none"  speaks = "lines"  line = "{probe},{temperature},{humidity}"  every = "60s" }
probe "a" { bus = "board" }
enclosure "T3" { label = "Third tub"
  cool_side { probe = "a"  humidity { day = "45..60 %"  limits = "25..85 %"  patience = "30min" } } }
webhook "phone" { endpoint = "$hook_url"  body = "text" }
END

# rows FROM TO HUMIDITY: one a minute, from minute FROM to before minute TO
rows()
{
    python3 -c "for m in range($1, $2): print('%d,a,25.0,$3' % (1767225600 + 60 * m))"
}
header=time,probe,temperature,humidity
{ echo $header; rows 0 60 50; rows 60 120 40; } > "$work/one.csv"
{ echo $header; rows 120 180 50; } > "$work/two.csv"

replay()
{
    "$daemon" -c "$work/room.conf" --replay "$@" > "$work/replay.out" 2> "$work/replay.err"
}

replay "$work/one.csv" || fail "a good recording is refused"
grep -q "would send: Third tub too dry, 40 %  (to phone)$" "$work/replay.out" ||
    fail "no message is shown, or not for whom"
same 1 "$(wc -l < "$work/replay.out")" "messages"
same 0 "$(find "$work/state/outbox" -type f | wc -l)" "outbox files without --post"
same 1 "$(grep -c '"event":"raised"' "$work/state/alerts.jsonl")" "raised"

replay "$work/one.csv" && fail "the same recording is taken twice"
grep -q "before the archive ends at 2026-01-01T01:59:00Z" "$work/replay.err" ||
    fail "the refusal does not say why"

# It goes on where it was: what stood is cleared, not raised again.
replay "$work/two.csv" || fail "the continuation is refused"
grep -q "would send: Third tub back in its band after 1 h" "$work/replay.out" ||
    fail "the end is not told"
same 1 "$(grep -c '"event":"raised"' "$work/state/alerts.jsonl")" "raised after going on"

# Another folder leaves this one alone.
before=$(cksum "$work/state/alerts.jsonl" "$work/state/archive/T3.rrd")
replay "$work/one.csv" --into "$work/rehearsal" || fail "--into is refused"
same "$before" "$(cksum "$work/state/alerts.jsonl" "$work/state/archive/T3.rrd")" "the live state"
test -s "$work/rehearsal/archive/T3.rrd" || fail "--into writes nothing"

# --post sends for real.
replay "$work/one.csv" --into "$work/posted" --post || fail "--post fails"
hook_count 1 || fail "nothing was posted"
grep -q 'Third tub too dry, 40 %' "$hook_log" || fail "the title is not in the body"
same 0 "$(find "$work/posted/outbox" -type f | wc -l)" "outbox files after delivery"
grep -q '"event":"delivered"' "$work/posted/alerts.jsonl" || fail "the delivery is not logged"

# Faults: one sentence with the line, and what was before it is kept.
{ echo $header; rows 0 60 50; echo 1767229200,a,warm,50; rows 61 90 50; } > "$work/bad.csv"
replay "$work/bad.csv" --into "$work/bad" && fail "a bad row is taken"
grep -q "bad.csv:62: this is no number" "$work/replay.err" || fail "the bad row is not named"
test -s "$work/bad/archive/T3.rrd" || fail "what was before the bad row is lost"
replay "$work/none.csv" && fail "a missing recording is taken"
grep -q "none.csv cannot be opened: No such file" "$work/replay.err" || fail "no reason"

replay "$work" && fail "a folder is taken"
grep -q "cannot be read: Is a directory" "$work/replay.err" || fail "a folder is not called one"

# An archive folder that cannot be used is said, not waited for.
mkdir -p "$work/stuck/archive/.lock"
replay "$work/one.csv" --into "$work/stuck" && fail "it archives into nothing"
grep -q "the archive folder cannot be used" "$work/replay.err" || fail "nothing said of the folder"

# Rows much farther apart than the configuration says are no quiet fortnight.
sed 's/every = "60s"/every = "10s"/' "$work/room.conf" > "$work/sparse.conf"
"$daemon" -c "$work/sparse.conf" --replay "$work/one.csv" --into "$work/sparse" \
    > "$work/replay.out" 2> "$work/replay.err" || fail "a sparse recording is refused"
grep -q 'probe "a": its rows are about 60 s apart, bus "board" says every 10 s' "$work/replay.err" ||
    fail "nothing is said of a recording too sparse to judge"

# A damaged archive is told once.
mkdir -p "$work/hurt/archive"
head -c 1000 /dev/zero > "$work/hurt/archive/T3.rrd"
replay "$work/one.csv" --into "$work/hurt" || fail "a damaged archive stops the replay"
same 1 "$(grep -c "archive damaged" "$work/replay.out")" "messages about the damage"

# Probes it does not know are passed over and counted.
{ echo $header; rows 0 10 50; echo 1767226200,zz,25,50; } > "$work/other.csv"
replay "$work/other.csv" --into "$work/other" || fail "an unknown probe stops the replay"
grep -q "1 of 11 rows are of probes" "$work/replay.err" || fail "unknown probes are not counted"
