#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# --check: every fault of a faulty configuration on standard output in one
# run, with file and line, and exit status 1; 0 for a faultless one, the
# shipped one included.  Options nobody knows: exit status 2.
. "${top_srcdir:-.}/tests/lib.sh"
# A copy: who may read a file matters, and a source tree does not say it.
faulty=$work/faulty
cp -R "$top_srcdir/tests/faulty" "$faulty" && chmod -R u+rwX,go= "$faulty" &&
    chmod 644 "$faulty"/parts/open.* || exit 99
daemon=$(cd "$top_builddir" && pwd)/warmsided
top=$(cd "$top_srcdir" && pwd) || exit 99

cd "$faulty" || fail "no faulty configurations"
count=0
for conf in *.conf; do
    "$daemon" -c "$conf" --check > "$work/check.out" 2> "$work/check.err"
    same 1 $? "the exit status for $conf"
    [ -s "$work/check.err" ] && fail "$conf: faults on standard error"
    grep -vE '^[a-z/.]+:[0-9]+: ..*' "$work/check.out" && fail "$conf: a line of another form"
    [ "$(wc -l < "$work/check.out")" -ge 4 ] || fail "$conf: hardly a fault"
    # What is expected: file:line, then words of the sentence.
    grep -v '^#' "${conf%.conf}.expected" | while IFS= read -r expected; do
        [ -n "$expected" ] || continue
        place=${expected%%[ 	]*}
        grep -q "^$place" "$work/check.out" || { echo "$conf: nothing at $place"; exit 1; }
    done || fail "$conf: a fault is missing"
    count=$((count + 1))
done
[ $count -ge 10 ] || fail "only $count faulty configurations"
cd "$work" || exit 99

"$daemon" -c "$top/conf/warmside.conf" --check > "$work/check.out" || fail "the shipped one"
grep -q "is in order: " "$work/check.out" || fail "nothing said of a faultless one"
cat > "$work/slips.conf" << 'END'
bus "b" { port = "/dev/none"  speaks = "lines"  line = "{probe},{temperature}" }
probe "a" { bus = "b" }
probe "z" { bus = "b" }
enclosure "T1" { warm_side { probe = "a" } }
enclosure "T2" { cool_side { probe = "a"  temperature { day = "20..30 C" } } }
enclosure "T3" { label = "empty" }
enclosure "T4" { in_service = "no"  eggs { probe = "a"  temperature { day = "27..29 C" } } }
END
"$daemon" -c "$work/slips.conf" --check > "$work/slips.out" || fail "slips are no faults"
for note in 'probe "a" sits at two places: T1 warm side, and T2 cool side' 'probe "z" sits nowhere' \
    'enclosure "T4" is out of service' 'enclosure "T1" is drawn but never judged' 'enclosure "T3" has no probe' 'there is no webhook' 'no state folder is named'; do
    grep -q "^note: $note" "$work/slips.out" || fail "no note: $note"
done
same 8 "$(grep -c '^note: ' "$work/slips.out")" "notes"
# A clock that is wrong must not keep the watch from beginning.
cat > "$work/tocome.conf" << 'END'
bus "b" { port = "/dev/none"  speaks = "lines"  line = "{probe},{temperature},{humidity}" }
probe "a" { bus = "b"  calibrated = "2999-01-01" }
END
"$daemon" -c "$work/tocome.conf" --check > "$work/tocome.out" || fail "a day to come is no fault"
grep -q '^note: probe "a": calibrated = "2999-01-01" is a day to come' "$work/tocome.out" ||
    fail "no note of a day to come"
{ cat "$work/slips.conf" && echo 'room { probe = "z" } enclosure "T5" { eggs { probe = "z" } }'; } > "$work/room.conf"
"$daemon" -c "$work/room.conf" --check > "$work/slips.out" || fail "a probe of the room is no fault"
grep -q '^note: probe "z" sits at two places: T5 eggs, and the room; is one' "$work/slips.out" ||
    fail "the room is not called the room"
# Webhooks that hear of little: the second one is held back by the first.
cat >> "$work/slips.conf" << 'END'
webhook "a" { endpoint = "http://hook.example/"  priority = "now"  escalate = "1h" }
webhook "b" { endpoint = "http://hook.example/" }
webhook "c" { endpoint = "http://hook.example/"  priority = "today" }
END
"$daemon" -c "$work/slips.conf" --check > "$work/slips.out" || fail "webhooks are no faults"
grep -q '^note: no webhook is told of alerts less urgent than today' "$work/slips.out" ||
    fail "no note of what nobody is told"
same 8 "$(grep -c '^note: ' "$work/slips.out")" "notes with webhooks"
# Standard error is where faults go when something else was asked for.
"$daemon" -c "$faulty/keys.conf" --read > "$work/read.out" 2> "$work/read.err"
same 1 $? "the exit status of --read with faults"
[ -s "$work/read.out" ] && fail "--read prints faults on standard output"
"$daemon" -c "$work/none.conf" --check > "$work/none.out"
same 1 $? "the exit status for a missing file"
grep -q "none.conf.*No such file" "$work/none.out" || fail "a missing file is not named"

for wrong in --frobnicate "--check --read" extra "--into x" "--replay"; do
    # shellcheck disable=SC2086
    "$daemon" $wrong > "$work/usage.out" 2> "$work/usage.err"
    same 2 $? "the exit status of $wrong"
    grep -q "Try 'warmsided --help'" "$work/usage.err" || fail "$wrong: no hint"
    same 2 "$(wc -l < "$work/usage.err")" "sentences about $wrong"
done
"$daemon" --help | grep -q "^Usage: warmsided" || fail "--help"
"$daemon" --version | grep -q "^warmsided [0-9]" || fail "--version"
