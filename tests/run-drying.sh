#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# warmside drying on two weeks of a simulated room: the mistings told are those that took
# place; what is saved and told again is what the rows say; and dryings.jsonl is whole
# whatever happens to the program that writes it.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
begin=1704067200 days=14 # in the past of every clock: what is saved ends with the archive
end=$((begin + days * 86400)) middle=$((begin + 7 * 86400))
check=$top_srcdir/tests/reference/drying.py

# conf STATE ROWS
conf()
{
    "$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/$1" --every 60 \
        > "$work/$1.conf" || fail "no configuration"
    echo "archive { $2 }" >> "$work/$1.conf"
}

# replay STATE RECORDING
replay()
{
    "$daemon" -c "$work/$1.conf" --replay "$work/$2" > "$work/replay.out" 2> "$work/replay.err" ||
        fail "the replay failed"
}

# drying STATE ARGUMENTS...: of the two weeks, into $work/answer.
drying()
{
    drying_state=$1
    shift
    "$report" -c "$work/$drying_state.conf" --from $begin --to $end drying "$@" > "$work/answer" \
        2> "$work/answer.err"
}

# save STATE
save()
{
    "$report" -c "$work/$1.conf" drying --save > "$work/save.out" 2> "$work/save.err"
}

# lists STATE TO: the dryings of each enclosure, as JSON.
lists()
{
    mkdir -p "$work/$2"
    for name in T1 T2 T3 M1 M2 G1 G2 S1; do
        drying "$1" $name --format json || fail "no JSON of $name"
        mv "$work/answer" "$work/$2/$name.json"
    done
}

"$roomsim" record --calm --life --seed 5 --start $begin --days $days --every 60 \
    --list "$work/list.json" > "$work/all.csv" || fail "no recording"
conf fine 'minutes = "30d"  ten_minutes = "30d"  hours = "90d"'
replay fine all.csv
saved=$work/fine/dryings.jsonl

# ---- what is told -----------------------------------------------------------------------
drying fine --format json || fail "no JSON"
python3 "$check" took-place "$work/answer" "$work/list.json" $begin $end || fail "that is not what took place"
drying fine --format csv || fail "no CSV"
same 13 "$(wc -l < "$work/answer")" "lines of CSV"
same 21 "$(tail -n 1 "$work/answer" | tr -cd , | wc -c | awk '{ print $1 + 1 }')" "fields of a line"
drying fine || fail "no text"
for words in '2024-01-01 00:00 to 2024-01-15 00:00 (14 d)' 'S1 · Screen cage' 'enclosures' \
    'lower bound' 'No misting was seen in'; do
    grep -qF "$words" "$work/answer" || fail "'$words' is not said"
done
drying fine T3 || fail "no text of T3"
for words in 'T3 · Third tub, cool side humidity' 'mistings' 'dryings fitted' 'time constant of' \
    'In none of 14 dryings of up to 26 h did it come down to the band' \
    'Of 13 dryings of 20 h or more 13 held'; do
    grep -q "$words" "$work/answer" || fail "'$words' is not said of T3"
done

# ---- pictures, and what does not go together -----------------------------------------------
drying fine T3 -o "$work/t3.svg" || fail "no SVG"
grep -q '<svg' "$work/t3.svg" && grep -q 'median of the fits' "$work/t3.svg" || fail "that is no picture"
drying fine T3 -o "$work/t3.png" --size 500x400 || fail "no PNG"
head -c 8 "$work/t3.png" | od -An -tx1 | grep -q '89 50 4e 47' || fail "that is no PNG"
drying fine M2 -o "$work/m2.svg" || fail "no picture of M2"
grep -q 'No misting was seen in this time: there is nothing' "$work/m2.svg" || fail "that M2 was not misted is not said"
grep -q 'hours later' "$work/m2.svg" && fail "an empty chart is drawn"
drying fine S1 || fail "no text of S1"
grep -q 'its dryings were 11 h long at most' "$work/answer" || fail "24 h are told of dryings of 11 h"
grep -q 'in the room' "$work/answer" && fail "a floor that is not moved is said to be"
"$report" -c "$work/fine.conf" --from $((begin + 28800)) --to $((begin + 34200)) drying T3 > "$work/answer"
grep -q 'not long enough yet' "$work/answer" || fail "a drying under way is said to be misted too soon"
grep -q '^1 misting, – a day' "$work/answer" || fail "an hour and a half makes mistings a day"
# refused WORDS ARGUMENTS...
refused()
{
    words=$1
    shift
    "$report" -c "$work/fine.conf" drying "$@" > "$work/answer" 2> "$work/answer.err"
    same 2 $? "status of drying $*"
    same 1 "$(wc -l < "$work/answer.err")" "sentences about drying $*"
    grep -q "$words" "$work/answer.err" || fail "'$words' is not said of drying $*"
}
refused 'takes no enclosure' T3 --save
refused 'takes no enclosure' --save --from -3d
refused 'takes no enclosure' --save --to -3d
refused 'takes no enclosure' --save -o "$work/x.png"
refused 'of one enclosure' -o "$work/x.png"
refused 'draws' T3 -o "$work/x.png" --format json
refused 'name an enclosure' room
refused 'no enclosure is named' T9
refused 'belongs to a picture' --size 500x400
[ ! -e "$saved" ] || fail "something is saved without being asked for"

# ---- saved is as found ---------------------------------------------------------------------
lists fine found
python3 "$check" wet "$work/list.json" "$work"/found/*.json || fail "a wet probe's water is taken for air"
save fine || fail "nothing is saved"
same 12 "$(wc -l < "$saved")" "lines saved"
same 640 "$(stat -c %a "$saved")" "who may read it"
cp "$saved" "$work/reference"
lists fine told
for name in T1 T3 M1 G2 S1; do
    python3 "$check" same "$work/found/$name.json" "$work/told/$name.json" || fail "saved dryings of $name differ"
done
python3 "$check" whole "$saved" || fail "what is saved is not whole"
save fine || fail "it does not save twice"
cmp "$saved" "$work/reference" || fail "saved twice is not saved once"

grep -q '^Nothing new to save.$' "$work/save.out" || fail "that nothing is new is not said"

# ---- nothing of the future, and nothing twice -----------------------------------------------
# before FILE FROM TO: what is told of a shorter window.
before()
{
    "$report" -c "$work/fine.conf" --from $2 --to $3 drying T3 --format json > "$work/$1" ||
        fail "no JSON until $3"
}
for hours in 1 5 9 20; do
    to=$((middle + hours * 3600))
    before saved.json $begin $to
    mv "$saved" "$work/aside"
    before unsaved.json $begin $to
    mv "$work/aside" "$saved"
    python3 "$check" same "$work/saved.json" "$work/unsaved.json" || fail "what is saved knows what came after $hours"
    before one.json $begin $to
    before other.json $to $end
    python3 "$check" parts "$work/told/T3.json" "$work/one.json" "$work/other.json" ||
        fail "windows side by side do not add up at $hours"
done

# ---- a wrong clock, and damaged lines --------------------------------------------------------
sed 's/"to":17[0-9.]*,"known"/"to":4102444800.0,"known"/' "$work/reference" > "$saved"
drying fine T3 --format json || fail "no JSON beside records of 2100"
python3 "$check" same "$work/found/T3.json" "$work/answer" || fail "records of 2100 hide the rows"
same 1 "$(wc -l < "$work/answer.err")" "sentences about records of 2100"
grep -q 'was the clock wrong' "$work/answer.err" || fail "records of 2100 are not told of"
save fine || fail "it does not save beside records of 2100"
same 24 "$(wc -l < "$saved")" "lines beside those of 2100"
(cat "$work/reference"; echo nonsense; echo '{"enclosure":') > "$saved"
drying fine T3 --format json || fail "damaged lines change the status"
same "warmside: 2 lines of dryings.jsonl are no records and are passed over" \
    "$(cat "$work/answer.err")" "sentence about damaged lines"
cp "$work/reference" "$saved"

# ---- torn, killed, two at once, no room on the disk ------------------------------------------
for cut in 1 30 2000; do
    head -c -$cut "$work/reference" > "$saved"
    save fine || fail "a torn line stops it"
    python3 "$check" whole "$saved" || fail "torn by $cut: not whole"
    drying fine I1 --format json && mv "$work/answer" "$work/healed.json"
    drying fine T3 --format json || fail "no JSON"
    python3 "$check" same "$work/told/T3.json" "$work/answer" || fail "torn by $cut: it tells otherwise"
done
delays="0 0.1 0.3"
[ -z "${LONG:-}" ] || delays="0 0.02 0.05 0.1 0.2 0.3 0.5"
for delay in $delays; do
    rm -f "$saved"
    start saver "$report" -c "$work/fine.conf" drying --save
    sleep $delay
    kill -s KILL "$started_pid" 2> /dev/null
    wait "$started_pid" 2> /dev/null
    save fine || fail "ended after $delay s: it does not save any more"
    cmp "$saved" "$work/reference" || fail "ended after $delay s: something is lost or double"
done
rm -f "$saved"
for n in 1 2 3; do
    start "saver$n" "$report" -c "$work/fine.conf" drying --save
    set -- "$@" "$started_pid"
done
for pid; do
    wait "$pid" 2> /dev/null
done
cmp "$saved" "$work/reference" || fail "of three at once something is lost or double"
for file in reference empty; do
    : > "$work/empty"
    head -n 6 "$work/$file" > "$saved"
    cp "$saved" "$work/before"
    # More than is there, and less than what comes.
    (ulimit -f $(($(wc -c < "$saved") / 512 + 8)) && trap '' XFSZ && save fine)
    same 1 $? "status when it does not fit"
    same 1 "$(wc -l < "$work/save.err")" "sentences when it does not fit"
    grep -q 'dryings.jsonl cannot be written' "$work/save.err" || fail "that it does not fit is not said"
    cmp "$saved" "$work/before" || fail "the file is not as before"
done
save fine || fail "it does not save any more"
same 12 "$(wc -l < "$saved")" "lines after a full disk"

# ---- a window longer than the fine rows ------------------------------------------------------
awk -F, -v middle=$middle 'NR == 1 || $1 < middle' "$work/all.csv" > "$work/first.csv"
awk -F, -v middle=$middle 'NR == 1 || $1 >= middle' "$work/all.csv" > "$work/second.csv"
conf coarse 'minutes = "2d"  ten_minutes = "9d"  hours = "90d"'
replay coarse first.csv
save coarse || fail "the first week is not saved"
replay coarse second.csv
drying coarse || fail "no text of coarse rows"
grep -q 'Mistings could be seen in' "$work/answer" && fail "what is saved is not counted as known"
drying coarse --format json || fail "no JSON of saved dryings"
python3 "$check" took-place "$work/answer" "$work/list.json" $begin $end || fail "saved dryings are not what took place"
save coarse || fail "the second week is not saved"
python3 "$check" whole "$work/coarse/dryings.jsonl" || fail "two lines each are not whole"
rm "$work/coarse/dryings.jsonl"
drying coarse || fail "no text of coarse rows"
grep -q 'Mistings could be seen in' "$work/answer" || fail "it is not said that the rows are too coarse"

# ---- what is saved reaches back as far as ten-minute rows, and says the same ------------------
conf long 'minutes = "4d"  ten_minutes = "30d"  hours = "90d"'
replay long all.csv
drying long T3 --format json && mv "$work/answer" "$work/unsaved.json" || fail "no JSON of long rows"
save long || fail "long rows are not saved"
python3 "$check" whole "$work/long/dryings.jsonl" || fail "of two row sizes it is not whole"
drying long T3 --format json || fail "no JSON of saved long rows"
python3 "$check" same "$work/unsaved.json" "$work/answer" || fail "saved from two row sizes differs"
grep -q "\"from\":$begin" "$work/long/dryings.jsonl" || fail "it does not reach back to the first row"
