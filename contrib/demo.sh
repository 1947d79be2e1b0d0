#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Warmside in a few minutes, without an animal or a probe: two weeks of a
# simulated reptile room replayed through the daemon, then the daemon live on
# simulated buses until a stuck heater has sent a webhook, then the reports,
# the morning page and a graph of each enclosure.
#
#     sh contrib/demo.sh
#
# Installs the packages needed (root or sudo), builds in build-demo/, leaves
# what it made in demo/, and leaves nothing running.
cd "$(dirname "$0")/.." || exit 99
zone=${TZ-}
top_srcdir=$(pwd)
top_builddir=$top_srcdir/build-demo
. tests/lib.sh
# The simulated lamps and the bands follow the clock on the wall.
if [ -n "$zone" ]; then TZ=$zone; else unset TZ; fi

demo=$top_srcdir/demo
DAYS=14
LIVE=20
OFF=7200        # s: the daemon was off so long before it comes up live
FAULT=stuck-heater:P1:-2h:1d

say()
{
    printf '\n== %s\n' "$*"
}

# run NAME COMMAND...: its output goes to demo/NAME.txt; the demo ends if it fails.
run()
{
    run_name=$1
    shift
    "$@" > "$demo/$run_name.txt" 2>&1 || {
        tail -n 30 "$demo/$run_name.txt"
        fail "$run_name ended with an error; see $demo/$run_name.txt"
    }
}

build()
{
    sh contrib/setup.sh --build-only || exit 1
    say "building in build-demo/"
    mkdir -p "$top_builddir" "$demo"
    if [ ! -f "$top_builddir/Makefile" ]; then
        run autoreconf autoreconf -fi
        (cd "$top_builddir" && run configure "$top_srcdir/configure" -q) || exit 1
    fi
    run make make -C "$top_builddir" -j "$(getconf _NPROCESSORS_ONLN)" all
}

# room_conf SECONDS FILE
room_conf()
{
    "$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$demo/state" \
        --webhook "$hook_url" --every "$1" > "$2" || fail "no configuration"
}

two_weeks()
{
    end=$((($(date +%s) - OFF) / 60 * 60))
    begin=$((end - DAYS * 86400))
    say "$DAYS simulated days of 12 enclosures: demo/recording.csv"
    "$roomsim" record --days $DAYS --every 60 --seed 7 --start $begin > "$demo/recording.csv" ||
        fail "no recording"
    echo "$(wc -l < "$demo/recording.csv") readings and a header"
    room_conf 60 "$demo/replay.conf"
    say "replaying them through warmsided: demo/replay.txt tells what it would have sent"
    run replay "$daemon" -c "$demo/replay.conf" --replay "$demo/recording.csv"
    echo "its last lines:"
    tail -n 5 "$demo/replay.txt"
}

# fresh TIME: now.json is of that time or later
fresh()
{
    [ "$(sed -n 's/^{"time":\([0-9]*\).*/\1/p' "$demo/state/now.json")" -ge "$1" ]
}

# Before something happens that this page is not about.
look()
{
    say "the morning look of the last simulated day: demo/morning.html"
    run morning "$report" -c "$demo/replay.conf" morning --from $((end - 86400)) --to $end \
        -o "$demo/morning.html"
    [ -s "$demo/morning.html" ] || fail "no page"
    run morning "$report" -c "$demo/replay.conf" morning --from $((end - 86400)) --to $end \
        --format text
    head -n 24 "$demo/morning.txt"
    echo "  ... and so on"
}

live()
{
    say "the room in real time; P1's heater has been stuck for two hours; warmsided comes up"
    start_room --every 2 --seed 7 --fault $FAULT
    room_conf 2 "$demo/warmside.conf"
    live_from=$(date +%s)
    start warmsided "$daemon" -c "$demo/warmside.conf"
    daemon_pid=$started_pid
    # A stray message of the gap itself may come first: wait for P1's.
    wait_until 120 grep -qF '\"P1\"' "$hook_log" || fail "no webhook about P1 in two minutes"
    cp "$hook_log" "$demo/webhooks.jsonl"
    say "the webhook's receiver got (all of it in demo/webhooks.jsonl):"
    grep -F '\"P1\"' "$hook_log" | head -n 1 |
        sed 's/.*"body":"\(.*\)","answer":.*/\1/; s/\\\(.\)/\1/g'
    say "watching a little longer, until $LIVE s are full"
    wait_until $((2 * LIVE)) fresh $((live_from + LIVE)) || fail "now.json is not renewed"
    say "warmside now"
    run now "$report" -c "$demo/warmside.conf" now
    cat "$demo/now.txt"
    stop "$daemon_pid"
    [ "$stop_status" -eq 0 ] || fail "warmsided ended with status $stop_status"
}

reports()
{
    say "warmside totals: demo/totals.txt"
    run totals "$report" -c "$demo/warmside.conf" totals --from $begin --to $end
    cat "$demo/totals.txt"
    say "warmside excursions: demo/excursions.txt"
    run excursions "$report" -c "$demo/warmside.conf" excursions --from $begin --to $end
    head -n 40 "$demo/excursions.txt"
    echo "  ... and so on"
    say "how fast each dries after a misting, and what three days alone would do:"
    run drying "$report" -c "$demo/warmside.conf" drying --from $begin --to $end
    run away "$report" -c "$demo/warmside.conf" away 3d --to $end
    head -n 14 "$demo/drying.txt"
    echo "  ... and so on: demo/drying.txt"
    head -n 18 "$demo/away.txt"
    echo "  ... and so on: demo/away.txt"
    say "a graph of each enclosure: demo/graphs/"
    mkdir -p "$demo/graphs"
    for name in $(sed -n 's/^enclosure "\([^"]*\)".*/\1/p' "$demo/warmside.conf"); do
        run graph "$report" -c "$demo/warmside.conf" graph "$name" --from $begin --to $end \
            --output "$demo/graphs/$name.png"
        [ -s "$demo/graphs/$name.png" ] || fail "no graph of $name"
        printf '%s ' "$name"
    done
    # The alarm itself: the last hours of the enclosure that raised it.
    run graph "$report" -c "$demo/warmside.conf" graph P1 --from -3h \
        --output "$demo/graphs/P1-alarm.png"
    run drying-T3 "$report" -c "$demo/warmside.conf" drying T3 --from $begin --to $end \
        --output "$demo/graphs/T3-dries.png"
    rm -f "$demo/graph.txt" "$demo/drying-T3.txt"
    echo
}

began=$(date +%s)
build
rm -rf "$demo"
mkdir -p "$demo/state"
start_hook
two_weeks
look
live
reports
say "done in $(($(date +%s) - began)) s"
cat << END
  demo/morning.html    the page of the last simulated day: open it in a browser;
                       demo/morning.txt is the same as text
  demo/graphs/         a PNG for each enclosure; P1-alarm.png shows the stuck heater,
                       T3-dries.png the third tub after each misting
  demo/totals.txt      how long each was out of its band, and by how much
  demo/excursions.txt  each time it was
  demo/drying.txt      how fast each dries; demo/away.txt how long each can be left
  demo/webhooks.jsonl  what was posted
  demo/replay.txt      what would have been posted in the two weeks
  demo/warmside.conf   the configuration; demo/state is what the daemon keeps
To look again:  build-demo/warmside -c demo/warmside.conf totals --from $begin --to $end
END
