#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What it costs to find and fit the dryings of a year, from ten-minute rows and from
# dryings.jsonl, of one enclosure and of many; and beside it what librrd alone needs for
# the same rows in the same run.
#
#     bench-drying.sh [ENCLOSURES]
#
# The year is replayed in pieces, and saved after each, as every night would.  The archives
# of all enclosures are one under many names (hard links).
. "${top_srcdir:-.}/tests/lib.sh"
enclosures=${1:-100}
cost=$top_builddir/tests/bench_cost
fetch=$top_builddir/tests/bench_fetch
from=1704067200 # 2024-01-01T00:00:00Z
days=365
to=$((from + days * 86400))
state=$work/state
worst=0

# write_conf ENCLOSURES
write_conf()
{
    cat << CONF
state = "$state"
archive { minutes = "10d"  ten_minutes = "400d"  hours = "1095d" }
bus "board" { port = "/dev/none"  speaks = "lines"  line = "{probe} {temperature} {humidity}"  every = "5min" }
probe "room" { bus = "board" }
room { probe = "room" }
species "bench snake" {
  cool_side { humidity { day = "50..70 %"  night = "45..75 %"  limits = "25..85 %"  patience = "12h"  source = "written for this benchmark" } }
}
CONF
    conf_n=0
    while [ $conf_n -lt "$1" ]; do
        conf_n=$((conf_n + 1))
        cat << CONF
probe "c$conf_n" { bus = "board" }
enclosure "E$conf_n" { species = "bench snake"  build = "tub"  cool_side { probe = "c$conf_n" } }
CONF
    done
}

# write_recording: every 5 min; two mistings a day that dry with 2.5 h, and warm days.
write_recording()
{
    awk -v from=$from -v to=$to 'BEGIN {
        srand(1)
        print "time,probe,temperature,humidity"
        for (t = from; t <= to; t += 300) {
            swing = sin((t % 86400 - 32400) / 86400 * 6.2831853)
            printf "%d,room,%.1f,%.1f\n", t, 20 + swing + rand(), 38 + 2 * rand()
            printf "%d,c1,%.1f,%.1f\n", t, 23 + swing + 0.2 * rand(),
                46 + 28 * exp(-((t - 30600) % 43200) / 9000) + 2 * rand()
        }
    }'
}

write_conf 1 > "$work/1.conf"
write_conf "$enclosures" > "$work/many.conf"
write_recording > "$work/year.csv"
at=$from
while [ $at -lt $to ]; do
    awk -F, -v at=$at -v until=$((at + 9 * 86400)) 'NR == 1 || ($1 >= at && $1 < until)' \
        "$work/year.csv" > "$work/piece.csv"
    "$daemon" -c "$work/1.conf" --replay "$work/piece.csv" > "$work/replay.out" 2>&1 || fail "the replay failed"
    "$report" -c "$work/1.conf" drying --save > "$work/save.out" 2>&1 || fail "nothing is saved"
    at=$((at + 9 * 86400))
done
rm "$work/year.csv"
mv "$state/dryings.jsonl" "$work/saved-1"
cp "$work/saved-1" "$work/saved"
n=1
set -- "$state/archive/E1.rrd"
while [ $n -lt "$enclosures" ]; do
    n=$((n + 1))
    ln "$state/archive/E1.rrd" "$state/archive/E$n.rrd"
    sed "s/\"E1\"/\"E$n\"/" "$work/saved-1" >> "$work/saved"
    set -- "$@" "$state/archive/E$n.rrd"
done

# seconds COMMAND: of the processor, the median.
seconds()
{
    "$cost" 3 "$1" | sed -n 's/.*CPU \([0-9.]*\) s.*/\1/p'
}

# measure WHAT CONF ALLOWED FILES...: the seconds, and the ratio to librrd.
measure()
{
    what=$1 conf=$2 allowed=$3
    shift 3
    "$report" -c "$conf" --from $from --to $to --format json drying > "$work/answer" || fail "no answer"
    told=$(grep -c '"mistings": [67]' "$work/answer")
    same $# "$told" "enclosures with all mistings, $what"
    ours=$(seconds "'$report' -c '$conf' --from $from --to $to drying")
    theirs=$(seconds "'$fetch' 600 $from $to $*")
    awk -v what="$what" -v ours="$ours" -v theirs="$theirs" -v allowed="$allowed" 'BEGIN {
        printf "%s: %.2f s of the processor (allowed %s s); librrd alone %.2f s: ratio %.2f\n",
            what, ours, allowed, theirs, ours / theirs
        exit !(ours > 0) || ours > allowed }' || worst=1
}

e1=$state/archive/E1.rrd
measure "a year of one enclosure, from rows" "$work/1.conf" 0.5 "$e1"
measure "a year of $enclosures, from rows" "$work/many.conf" $(((enclosures + 4) / 5)) "$@"
cp "$work/saved-1" "$state/dryings.jsonl"
measure "a year of one enclosure, saved" "$work/1.conf" 0.5 "$e1"
cp "$work/saved" "$state/dryings.jsonl"
measure "a year of $enclosures, saved" "$work/many.conf" $(((enclosures + 4) / 5)) "$@"
rm "$state/dryings.jsonl"
echo "a night's saving of $enclosures, from nothing:"
"$cost" 1 "rm -f '$state/dryings.jsonl'; '$report' -c '$work/many.conf' drying --save"
exit $worst
