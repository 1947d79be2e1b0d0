#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The memory of the daemon's three processes (sum of Pss: what is shared is
# counted once) on a simulated room, polled every 10 s, with the default
# archives and a webhook; against a program that only has the same libraries
# loaded.  Both use copies of the libraries, because what other programs on
# this machine have loaded too would count less.  Measured when every probe
# has been read for a minute; the largest of three looks.  The archives take
# 20 MB of disk an enclosure.
#
#     bench-memory.sh [ENCLOSURES]
. "${top_srcdir:-.}/tests/lib.sh"
need python3
enclosures=${1:-100}
allowed=8192

# pss PID...: kB, all together
pss()
{
    for pss_pid; do
        cat "/proc/$pss_pid/smaps_rollup"
    done | awk '$1 == "Pss:" { sum += $2 } END { print sum }'
}

start_hook
start_room --every 10 --enclosures "$enclosures"
"$roomsim" conf --rack "$rack" --board "$board" --state "$work/state" --every 10 \
    --enclosures "$enclosures" --webhook "$hook_url" > "$work/room.conf" || fail "no configuration"

mkdir "$work/lib"
ldd "$daemon" | awk '$2 == "=>" && $3 ~ /^\// { print $3 }' | while read -r library; do
    cp -L "$library" "$work/lib"
done
with_copies()
{
    LD_LIBRARY_PATH=$work/lib exec "$@"
}

mkfifo "$work/hold"
start libraries with_copies sh -c "exec '$top_builddir/tests/bench_libraries' < '$work/hold'"
exec 3> "$work/hold"
wait_until 10 test -s "$work/libraries.out" || fail "the libraries do not load"
bare=$(pss "$started_pid")
exec 3>&-
wait_until 10 gone "$started_pid" || fail "the libraries stay"

start daemon with_copies "$daemon" -c "$work/room.conf"
daemon_pid=$started_pid
all_read()
{
    python3 - "$work/state/now.json" << 'PY'
import json, sys
try:
    probes = json.load(open(sys.argv[1]))['probes']
except OSError:
    sys.exit(1)
sys.exit(any(probe['read'] < 6 for probe in probes))
PY
}
archived()
{
    [ "$(find "$work/state/archive" -name '*.rrd' | wc -l)" -gt "$enclosures" ]
}
wait_until 300 all_read || fail "not every probe is read"
wait_until 120 archived || fail "not every enclosure has an archive"

most=0
for _ in 1 2 3; do
    sleep 5 # looks at different moments of a minute
    # shellcheck disable=SC2046
    set -- "$daemon_pid" $(cat "/proc/$daemon_pid/task/$daemon_pid/children")
    [ $# -eq 3 ] || fail "the daemon has $# processes"
    now=$(pss "$@")
    [ "$now" -le $most ] || { most=$now each="$(pss "$1") + $(pss "$2") + $(pss "$3")"; }
done
stop "$daemon_pid"
more=$((most - bare))
echo "$enclosures enclosures and the room, every 10 s: the daemon's three processes take" \
    "$most kB ($each), its libraries alone $bare kB: $more kB more (allowed $allowed)"
[ $more -le $allowed ]
