#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What the report costs against the bare library, in one run and in turn:
#
# - totals of a year, against a loop that fetches the same rows;
# - the page of a day with all its graphs, against the graph command of
#   rrdtool, once a series; the page's size;
# - how the cost of both, and the page's memory, grow from 10 to 1,000
#   enclosures, or to MOST.
#
#     bench-report.sh [ENCLOSURES [MOST]]
#
# The archives are one archive under many names (hard links): nothing is
# written to them here, and 100 of them would be 1.6 GB.  So both sides read
# from memory, and neither waits for a disk.
. "${top_srcdir:-.}/tests/lib.sh"
need rrdtool
enclosures=${1:-100}
most=${2:-1000}
cost=$top_builddir/tests/bench_cost
fetch=$top_builddir/tests/bench_fetch

from=1735689600 # 2025-01-01T00:00:00Z
to=1767225600   # a year later
state=$work/state
racks_of=100    # enclosures on a bus
worst=0

# write_conf ENCLOSURES: three series each.
write_conf()
{
    cat << CONF
state = "$state"
species "bench snake" {
  warm_side { temperature { day = "27..31 C"  night = "23..29 C"  limits = "15..36 C"  patience = "1h"  source = "written for this benchmark" } }
  cool_side { humidity { day = "45..60 %"  night = "45..65 %"  limits = "25..85 %"  patience = "12h"  source = "written for this benchmark" } }
}
CONF
    conf_n=0
    while [ $conf_n -lt "$1" ]; do
        conf_rack=$((conf_n / racks_of)) conf_address=$((conf_n % racks_of * 2 + 1))
        [ $conf_address -gt 1 ] ||
            echo "bus \"r$conf_rack\" { port = \"/dev/none$conf_rack\"  speaks = \"modbus\"  baud = 9600  parity = \"none\"  every = \"5min\" }"
        conf_n=$((conf_n + 1))
        cat << CONF
probe "w$conf_n" { bus = "r$conf_rack"  address = $conf_address  temperature = "input 1 / 10" }
probe "c$conf_n" { bus = "r$conf_rack"  address = $((conf_address + 1))  temperature = "input 1 / 10"  humidity = "input 2 / 10" }
enclosure "E$conf_n" { species = "bench snake"  build = "tub"  warm_side { probe = "w$conf_n" }  cool_side { probe = "c$conf_n" } }
CONF
    done
}

# write_recording: two probes every 5 min over the year: warm days and cold
# nights, two mistings a day, an outage of an hour a week.
write_recording()
{
    awk -v from=$from -v to=$to 'BEGIN {
        srand(1)
        print "time,probe,temperature,humidity"
        for (t = from; t <= to; t += 300) {
            if ((t + 200000) % 604800 < 3600)
                continue
            swing = sin((t % 86400 - 32400) / 86400 * 6.2831853)
            printf "%d,w1,%.1f,\n", t, 27.5 + 3 * swing + rand()
            printf "%d,c1,%.1f,%.1f\n", t, 23 + 2 * swing + rand(),
                42 + 30 * exp(-(t % 43200) / 9000) + 2 * rand()
        }
    }'
}

# ---- the archives ---------------------------------------------------------------
write_conf 1 > "$work/one.conf"
write_recording > "$work/year.csv"
"$daemon" -c "$work/one.conf" --replay "$work/year.csv" > "$work/replay.out" 2>&1 ||
    fail "the replay failed"
rm "$work/year.csv"
mv "$state/bands.jsonl" "$work/bands-E1"
mv "$state/alerts.jsonl" "$work/alerts-E1"
# furnish UNTIL: so many enclosures have archives and logs.
furnished=0
furnish()
{
    while [ $furnished -lt "$1" ]; do
        furnished=$((furnished + 1))
        [ $furnished -eq 1 ] || ln "$state/archive/E1.rrd" "$state/archive/E$furnished.rrd"
        sed "s/\"E1\"/\"E$furnished\"/" "$work/bands-E1" >> "$state/bands.jsonl"
        tail -n 20 "$work/alerts-E1" |
            sed "s/\"E1\"/\"E$furnished\"/; s/\"id\":\"alert_/&$furnished-/" >> "$work/alerts"
    done
    sort "$work/alerts" > "$state/alerts.jsonl" # each begins with its time
}
furnish "$enclosures"
for n in 10 100 "$most" "$enclosures"; do
    write_conf "$n" > "$work/$n.conf"
done
conf=$work/$enclosures.conf
last=$(rrdtool last "$state/archive/E1.rrd")
[ "$last" -ge $to ] || fail "the archive ends at $last"

# ---- totals of a year -----------------------------------------------------------
set --
n=0
while [ $n -lt "$enclosures" ]; do
    n=$((n + 1))
    set -- "$@" "$state/archive/E$n.rrd"
done
echo "totals of $enclosures enclosures over a year; theirs: librrd, the same rows of hours"
"$cost" 9 "'$report' -c '$conf' totals --from $from --to $to" 1.5 0 \
    "'$fetch' 3600 $from $to $*" || worst=1

# ---- the page of a day ----------------------------------------------------------
"$report" --help | grep -q ' morning ' || { echo "no page is made yet"; exit $worst; }

# write_graph ENCLOSURE SERIES LOW HIGH LEAST MOST: a series as the page draws
# it, as far as that command can: the reading as a line over its band, which is
# constant here; what is below and above it filled; limits; unknown time.
write_graph()
{
    cat << GRAPH
rrdtool graph $work/png/$1-$2.png --start $((to - 86400)) --end $to \
    --width 1000 --height 150 DEF:v=$state/archive/$1.rrd:$2:AVERAGE \
    CDEF:edge=$3,v,POP CDEF:width=$4,$3,-,v,POP CDEF:inside=v,$3,$4,LIMIT \
    CDEF:low=v,$3,LT,v,UNKN,IF CDEF:low_gap=v,$3,LT,$3,v,-,UNKN,IF \
    CDEF:high=v,$4,GT,$4,UNKN,IF CDEF:high_gap=v,$4,GT,v,$4,-,UNKN,IF \
    CDEF:unknown=v,UN,INF,UNKN,IF \
    AREA:unknown#eeeeee AREA:edge#ffffff00 AREA:width#e8e2d6::STACK \
    AREA:low#ffffff00 AREA:low_gap#0072b2::STACK \
    AREA:high#ffffff00 AREA:high_gap#d55e00::STACK \
    LINE1:v#777777 LINE1:inside#222222 HRULE:$5#999999 HRULE:$6#999999
GRAPH
}
mkdir "$work/png"
echo set -e > "$work/graphs.sh"
n=0
while [ $n -lt "$enclosures" ]; do
    n=$((n + 1))
    write_graph E$n warm_t 27 31 15 36
    write_graph E$n cool_t 20 26 15 36
    write_graph E$n cool_h 45 60 25 85
done >> "$work/graphs.sh"

# page ENCLOSURES: the command that makes it.
page()
{
    echo "'$report' -c '$work/$1.conf' morning --from $((to - 86400)) --to $to -o '$work/page-$1.html'"
}
echo "a page of $enclosures enclosures, a day; theirs: rrdtool graph, once a series"
"$cost" 3 "$(page "$enclosures")" 0.40 0.25 "sh '$work/graphs.sh'" || worst=1
size=$(wc -c < "$work/page-$enclosures.html")
echo "  $size bytes (allowed 8 MB)"
[ "$size" -le 8388608 ] || worst=1

# ---- from few to many -----------------------------------------------------------
furnish "$most"
for n in 10 100 "$most"; do
    echo "totals of $n enclosures"
    "$cost" 1 "'$report' -c '$work/$n.conf' totals --from $from --to $to" | tee "$work/totals-$n"
    echo "a page of $n enclosures"
    "$cost" 1 "$(page "$n")" | tee "$work/page-$n" || worst=1
done
cpu_of()
{
    sed -n 's/.*CPU \([0-9.]*\) s.*/\1/p' "$work/$1"
}
memory_of()
{
    sed -n 's/.*at most \([0-9]*\) kB/\1/p' "$work/page-$1"
}
# Each enclosure costs as much among many as among a hundred; ten have the
# program's start to carry.
for what in totals page; do
    awk -v what=$what -v most="$most" -v few="$(cpu_of $what-10)" -v some="$(cpu_of $what-100)" \
        -v many="$(cpu_of "$what-$most")" -v allowed=1.3 'BEGIN {
        growth = many / most / (some / 100)
        printf "CPU of %s, an enclosure: %.2f ms of 10, %.2f ms of 100, %.2f ms of %d: growth %.2f (allowed %.1f)\n",
            what, few * 100, some * 10, many / most * 1000, most, growth, allowed
        exit growth > allowed }' || worst=1
done
# Some of it grows: libConfuse has 40 kB of settings to keep of each enclosure.
awk -v few="$(memory_of 10)" -v many="$(memory_of 100)" -v more="$(memory_of "$most")" \
    -v most="$most" -v allowed=1.5 'BEGIN {
    printf "memory of 100 / of 10 enclosures: %.2f (allowed %.1f); of %d / of 10: %.2f\n",
        many / few, allowed, most, more / few
    exit many / few > allowed }' || worst=1
exit $worst
