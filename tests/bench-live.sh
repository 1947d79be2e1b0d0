#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What a live daemon costs with 10, 100 and 1,000 enclosures, every probe of
# them read each 10 s: the processor time of its three processes, from port to
# archive; their memory (sum of Pss: what is shared is counted once) beyond that
# of a program that only has the same libraries loaded; and its start, archives
# there already.  The simulated room at the ports is not counted.
#
#     bench-live.sh [SECONDS [ENCLOSURES...]]
#
# Both use copies of the libraries, because what other programs on this machine
# have loaded too would count less.  The archives keep few rows, 0.3 MB an
# enclosure: what a minute costs does not depend on how many there are.  Just
# after a start minutes are gathered for less long than write_every says, so that
# the archivist's part is more than it is in the long run.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
seconds=${1:-180}
[ $# -eq 0 ] || shift
[ $# -gt 0 ] || set -- 10 100 1000
livecost=$top_srcdir/tests/reference/livecost.py

mkdir "$work/lib"
ldd "$daemon" | awk '$2 == "=>" && $3 ~ /^\// { print $3 }' | while read -r library; do
    cp -L "$library" "$work/lib"
done

# kB that the libraries alone take.
bare_pss()
{
    mkfifo "$work/hold"
    LD_LIBRARY_PATH=$work/lib start libraries \
        sh -c "exec '$top_builddir/tests/bench_libraries' < '$work/hold'"
    exec 3> "$work/hold"
    wait_until 10 test -s "$work/libraries.out" || fail "the libraries do not load"
    bare=$(awk '$1 == "Pss:" { print $2 }' "/proc/$started_pid/smaps_rollup")
    exec 3>&-
    wait_until 10 gone "$started_pid" || fail "the libraries stay"
}

# measure ENCLOSURES: a line in $work/figures.
measure()
{
    start_room --every 10 --enclosures "$1"
    "$roomsim" conf --rack "$rack" --board "$board" --state "$work/state-$1" --every 10 \
        --enclosures "$1" --webhook "$hook_url" > "$work/$1.conf" || fail "no configuration"
    echo 'archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }' >> "$work/$1.conf"
    mkdir "$work/state-$1"
    # The first makes the archives, once in years.
    for measure_seconds in 0 "$seconds"; do
        python3 "$livecost" "$daemon" "$work/$1.conf" "$work/state-$1" \
            "$(grep -c '^bus ' "$work/$1.conf")" "$measure_seconds" "$work/lib" "$1" \
            > "$work/cost" || fail "no figures of $1 enclosures"
    done
    echo "$1 $(cat "$work/cost")" >> "$work/figures"
    stop "$room_pid"
    rm -r "$work/state-$1"
}

start_hook
bare_pss
: > "$work/figures"
for n; do
    measure "$n"
done
awk -v bare="$bare" -v most_percent=5 -v most_kb=20480 -v most_growth=1.2 '
    {
        printf "%d enclosures: start with archives there: %.2f s of CPU and %.2f s until READY, %.2f s until the last port is open\n",
            $1, $3, $2, $4
        cpu = $7 + $8 + $9
        more = $10 - bare
        each = cpu / $5 / $1
        printf "%d enclosures: %.3f %% of a core (watcher %.3f, archivist %.3f, courier %.3f), %.1f us a reading; %.0f us an enclosure and minute; Pss %d kB, %d kB beyond the libraries\n",
            $1, 100 * cpu / $5, 100 * $7 / $5, 100 * $8 / $5, 100 * $9 / $5, 1e6 * cpu / $6,
            60e6 * each, $10, more
        if (!first)
            first = each
        last = each
        if (100 * cpu / $5 > most_percent || more > most_kb)
            bad = 1
    }
    END {
        printf "an enclosure among the most costs %.2f of one among the fewest (allowed %.1f); at most %d %% of a core and %d kB are allowed\n",
            last / first, most_growth, most_percent, most_kb
        exit bad || last / first > most_growth
    }' "$work/figures"
