#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A probe tested in salts, the whole way round: recorded, asked for, the printed lines pasted,
# and recorded again, it tells the salts' values.  Then what is refused, and with what words.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
jars=$top_srcdir/tests/reference/salt.py
eval "$(python3 "$jars" make "$work")" || fail "no recordings"

# replay CONF RECORDING STATE
replay()
{
    "$daemon" -c "$1" --replay "$work/$2" --into "$work/$3" > "$work/replay.out" \
        2> "$work/replay.err" || fail "the replay of $2 failed"
}

# with CONF STATE: that configuration, looking at another state folder, in $work/now.conf
with()
{
    sed "s,^state = .*,state = \"$work/$2\"," "$1" > "$work/now.conf"
}

# salt ARGUMENT...: the answer is in $work/answer.out
salt()
{
    "$report" -c "$work/now.conf" salt "$@" > "$work/answer.out" 2> "$work/answer.err"
}

# says WORDS: they stand in the last answer, whatever its lines.
says()
{
    tr -s ' \n' '  ' < "$work/answer.out" | grep -qF "$1" || fail "it does not say: $1"
}

# refuses STATUS WORDS ARGUMENT...: no answer, and one sentence.
refuses()
{
    refuses_status=$1 refuses_words=$2
    shift 2
    salt "$@"
    same "$refuses_status" $? "exit status of salt $*"
    grep -qF -e "$refuses_words" "$work/answer.err" || fail "salt $* does not say: $refuses_words"
    same 1 "$(wc -l < "$work/answer.err")" "sentences about salt $*"
    [ ! -s "$work/answer.out" ] || fail "salt $* answers all the same"
}

# paste: the lines of the last answer into the probe's section of salt.conf -> pasted.conf
paste_lines()
{
    grep -E '^    (humidity_correction|calibrated) = "' "$work/answer.out" > "$work/lines"
    same 2 "$(wc -l < "$work/lines")" "lines to paste"
    sed "/# here/r $work/lines" "$work/salt.conf" > "$work/pasted.conf"
    "$daemon" -c "$work/pasted.conf" --check > "$work/check.out" ||
        fail "what was pasted is refused: $(cat "$work/check.out")"
}

# mean_of FROM TO: what the archive says of the jar meanwhile
mean_of()
{
    "$report" -c "$work/now.conf" totals --from "$1" --to "$2" --format csv |
        awk -F, '$3 == "jar" && $7 == "humidity" { print $(NF - 1) }'
}

# ---- one salt --------------------------------------------------------------------
replay "$work/salt.conf" two.csv state
with "$work/salt.conf" state
one="--salt nacl --from $na_from --to $na_to"
# shellcheck disable=SC2086
salt j $one || { cat "$work/answer.err" && fail "no answer for one salt"; }
cat "$work/answer.out"
says 'Over sodium chloride (nacl)'
says 'calibrated = "2026-01-07"'
# shellcheck disable=SC2086
salt j $one --format json || fail "no JSON"
python3 "$jars" check "$work/answer.out" 0.15 0.7 || fail "one salt: it is not so"
settled=$(python3 -c "import json; print(json.load(open('$work/answer.out'))['tests'][0]['settled'])")
actual=$(python3 -c "import json; print(json.load(open('$work/answer.out'))['tests'][0]['actual'])")
# shellcheck disable=SC2086
salt j $one && paste_lines
grep -qE '"[+-][0-9]+\.[0-9] %"' "$work/lines" || fail "not an offset"
replay "$work/pasted.conf" two.csv again
with "$work/pasted.conf" again
python3 "$jars" near "$(mean_of "$settled" "$na_to")" "$actual" 0.1 ||
    fail "the corrected probe does not read the salt's value"
# holds SALTS: the correction is right, and only the day is told.
holds()
{
    # shellcheck disable=SC2086
    salt j $1 || fail "no answer after the correction"
    says 'the correction there still holds, and only the day is new: calibrated = "2026-01-07"'
    says 'if it has not been changed since'
    grep -q ' humidity_correction = ' "$work/answer.out" && fail "another correction after the correction"
    # shellcheck disable=SC2086
    salt j $1 --format json || fail "no JSON after the correction"
    python3 -c "
import json
found = json.load(open('$work/answer.out'))
assert found['holds'] and found['humidity_correction'] is None
for test in found['tests']:
    assert abs(test['corrected'] - test['actual']) <= test['uncertainty'] + 0.1, test" ||
        fail "it does not hold"
}
holds "$one"

# ---- two salts -------------------------------------------------------------------
with "$work/salt.conf" state
two="--salt mgcl2 --from $mg_from --to $mg_to $one"
# By probe, by enclosure, with its place; the order of the pairs does not matter.
# shellcheck disable=SC2086
for whose in j jar "jar cool_side"; do
    salt $whose $two || { cat "$work/answer.err" && fail "no answer for two salts of $whose"; }
    grep humidity_correction "$work/answer.out" >> "$work/same"
done
# shellcheck disable=SC2086
salt j $one --salt MgCl2 --from "$mg_from" --to "$mg_to" || fail "no answer the other way round"
grep humidity_correction "$work/answer.out" >> "$work/same"
same 1 "$(sort -u "$work/same" | wc -l)" "corrections from the same tests"
cat "$work/answer.out"
paste_lines
grep -qE '"[0-9.]+=[0-9.]+ [0-9.]+=[0-9.]+"' "$work/lines" || fail "not two points"
replay "$work/pasted.conf" two.csv both
with "$work/pasted.conf" both
# shellcheck disable=SC2086
salt j $two --format json || fail "no JSON of two"
python3 "$jars" check "$work/answer.out" 0.15 0.7 || fail "two salts: it is not so"
for i in 0 1; do
    eval "$(python3 -c "
import json
t = json.load(open('$work/answer.out'))['tests'][$i]
print('settled=%d to=%d actual=%f' % (t['settled'], t['to'], t['actual']))")"
    # shellcheck disable=SC2154 # of eval
    python3 "$jars" near "$(mean_of "$settled" "$to")" "$actual" 0.15 ||
        fail "the corrected probe does not read the value of salt $i"
done

holds "$two"
holds "$one"
# Another 3 % off, one salt keeps the slope of the two.
sed -i 's/humidity_correction = .*/humidity_correction = "41.4=33.0 81.7=75.4"/' "$work/pasted.conf"
replay "$work/pasted.conf" two.csv shifted
with "$work/pasted.conf" shifted
# shellcheck disable=SC2086
salt j $one || fail "no answer of one salt after two"
says 'One salt shows no slope: that of the humidity_correction there is kept, and its line is shifted by +3.'
paste_lines
# shellcheck disable=SC2086
salt j $one --format json && python3 -c "
import json
found = json.load(open('$work/answer.out'))
(low, low_is), (high, high_is) = ([float(n) for n in point.split('=')]
                                  for point in found['humidity_correction'].split())
assert not found['holds'] and abs((high_is - low_is) / (high - low) - 42.4 / 40.3) < 0.005, found
test = found['tests'][0]
line = found['correction']
assert abs(line['offset'] + line['slope'] * test['read'] - test['actual']) < 0.1, found" ||
    fail "the line is not shifted"

# ---- refused ---------------------------------------------------------------------
with "$work/salt.conf" state
early=$((na_from + 4 * 3600 + 3600 * 3))
refuses 1 'it still moves by' j --salt nacl --from $((na_from)) --to $((na_from + 23400))
refuses 1 'less than 6 h' j --salt nacl --from "$na_from" --to $((early - 7200))
refuses 1 'from before the jar was opened' j --salt nacl --from "$na_from" --to $((na_to + 1800))
refuses 1 'is it another salt (nacl has 75.4 %)' j --salt mgcl2 --from "$na_from" --to "$na_to"
refuses 1 'nearer to sodium chloride (nacl) with 75.4 %; if that was in the jar, say --salt nacl' \
    j --salt kcl --from "$na_from" --to "$na_to"
refuses 1 'nearer to potassium carbonate (k2co3) with 43.2 %' j --salt mgcl2 --from "$mg_from" --to "$mg_to"
refuses 1 'too little of its last hours' j --salt nacl --from "$na_from" --to $((na_to + 30000))
refuses 1 'sits in no enclosure' loose --salt nacl --from "$na_from" --to "$na_to"
refuses 2 'known are licl (lithium chloride)' j --salt sugar --from "$na_from" --to "$na_to"
refuses 2 'no probe and no enclosure is named jax; did you mean jar?' jax --salt nacl --from "$na_from"
refuses 2 'at a place named attic' jar attic --salt nacl --from "$na_from"
refuses 2 'say which salt' j --from "$na_from"
refuses 2 'each --salt needs a --from' j --salt nacl
refuses 2 'each --salt needs a --from' j --salt nacl --salt kcl --from "$na_from"
refuses 2 'one or two of them' j --salt nacl --salt kcl --salt licl --from 1 --from 2 --from 3
refuses 2 'must be before --to' j --salt nacl --from "$na_to" --to "$na_from"

# Probes that are not fit for it, and enclosures that do not say which one is meant.
{
    cat "$work/salt.conf"
    cat << CONF
bus "t" { port = "/dev/none-2"  speaks = "lines"  line = "{probe},{temperature}" }
probe "dry" { bus = "t" }
probe "k" { bus = "b" }
probe "l" { bus = "b" }
enclosure "hot" { warm_side { probe = "dry" } }
enclosure "both" { cool_side { probe = "k" }  humid_hide { probe = "l" } }
CONF
} > "$work/more.conf"
with "$work/more.conf" state
refuses 1 'probe "dry" gives no humidity' dry --salt nacl --from "$na_from" --to "$na_to"
refuses 2 'no probe of hot measures humidity; name a probe that does' \
    hot --salt nacl --from "$na_from" --to "$na_to"
refuses 2 'cool_side and humid_hide; say which, as in warmside salt both humid_hide' \
    both --salt nacl --from "$na_from" --to "$na_to"
# One may begin when the other ends, and neither within the other, in either order.
refuses 2 'two salts overlap' j --salt mgcl2 --from "$mg_from" --to $((na_from + 60)) $one
refuses 2 'two salts overlap' j $one --salt mgcl2 --from "$mg_from" --to $((na_from + 60))
refuses 2 'two salts overlap' j --salt mgcl2 --from "$na_from" --to "$na_to" $one
refuses 2 'two salts overlap' j --salt mgcl2 --from "$mg_from" $one
refuses 1 'probe "j" over mgcl2' j --salt mgcl2 --from "$mg_from" --to "$na_from" $one
refuses 2 'salt gives text or json' j --salt nacl --from "$na_from" --format csv
refuses 2 'usage: warmside salt NAME' --salt nacl --from "$na_from"
# A room that was never recorded is no answer to what is wrong with the jar.
mkdir -p "$work/bare/archive" && cp "$work/state/archive/jar.rrd" "$work/bare/archive/" || exit 99
with "$work/salt.conf" bare
refuses 1 'less than 6 h' j --salt nacl --from "$na_from" --to $((early - 7200))
# shellcheck disable=SC2086
salt j $one || fail "no answer without the room's archive"
[ ! -s "$work/answer.err" ] || fail "a room that was never recorded is told of: $(cat "$work/answer.err")"
says 'Without another probe in the room'
with "$work/salt.conf" state
for recording in leak slow near; do
    replay "$work/salt.conf" $recording.csv $recording
    with "$work/salt.conf" $recording
    begin=$mg_from
    case $recording in
    leak) refuses 1 "follows the room's" j --salt nacl --from "$begin" --to $((begin + 93600)) ;;
    slow) refuses 1 'it still moves by' j --salt nacl --from "$begin" --to $((begin + 50400)) ;;
    near) refuses 1 'less than 20 % apart' j --salt nacl --from "$begin" --to $((begin + 57600)) \
        --salt kcl --from $((begin + 64800)) --to $((begin + 122400)) ;;
    esac
done
for wrong in "now --salt nacl" "totals --from -2d --from -1d" "now --to -2d --to -1d"; do
    # shellcheck disable=SC2086
    "$report" -c "$work/now.conf" $wrong > "$work/wrong.out" 2>&1
    same 2 $? "exit status of $wrong"
done
