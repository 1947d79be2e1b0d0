#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The watcher is killed at its first change of a file below the state folder,
# then at its second, and so on, in the middle of a write and between write,
# sync and rename of state, log and outbox; the courier likewise.  Afterwards
# nothing is missing, nothing is under two names, nothing was raised twice.
# SEED=N repeats the traffic, as far as time repeats.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
library=$(cd "$top_builddir" && pwd)/tests/killpoint.so
[ -e "$library" ] || skip "no tests/killpoint.so"
grep -q __asan_init "$daemon" && skip "sanitizers want to be loaded before all others"
points=40 courier=4 probes=60
[ -z "${LONG:-}" ] || points=150 courier=12 probes=320

if [ $# -eq 0 ]; then
    # Each with a room of its own, side by side.
    SEED=${SEED:-$(date +%s)}
    export SEED
    waited=
    for walk in gathered single courier ${LONG:+whole}; do
        sh "$0" "$walk" > "$work/$walk.out" 2>&1 &
        waited="$waited $!"
    done
    worst=0
    for pid in $waited; do
        wait "$pid" || worst=$?
    done
    cat "$work"/*.out
    rm "$work"/*.out
    exit $worst
fi

case $1 in
gathered) who=watcher last=$points gather=0.3s ;; # what is raised waits a moment for others
single) who=watcher last=$points gather=0s ;;     # and here it goes at once
courier) who=courier last=$courier gather=0s ;;
whole)
    who=watcher last=$points gather=0.3s
    KILLPOINT_WHOLE=1
    export KILLPOINT_WHOLE
    ;;
esac
start_hook
start_straying_room "$probes" 2 4 "$SEED" "$gather"
python3 "$top_srcdir/tests/reference/alertkiller.py" point "$work" "$daemon" "$library" \
    "$who" 1 "$last" || fail "$1: the killer gave up (SEED=$SEED)"
python3 "$top_srcdir/tests/reference/alertkill.py" "$work/state" "$hook_log" \
    "$work/daemon.err" || fail "$1: see above (SEED=$SEED)"
