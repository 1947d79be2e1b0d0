#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The watcher is killed at its first change of a file below the state folder,
# then at its second, and so on, in the middle of a write and between write,
# sync and rename of state, log and outbox; the courier likewise.  Afterwards
# nothing is missing, nothing is under two names, nothing was raised twice.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
library=$(cd "$top_builddir" && pwd)/tests/killpoint.so
[ -e "$library" ] || skip "no tests/killpoint.so"
grep -q __asan_init "$daemon" && skip "sanitizers want to be loaded before all others"
points=40 courier=4 probes=60
[ -z "${LONG:-}" ] || points=150 courier=12 probes=320
seed=${SEED:-$(date +%s)}

base=$work
trap 'work=$base; clean_up' EXIT

# walk NAME WHO LAST: one walk, in a folder of its own.
walk()
{
    work=$base/$1
    mkdir "$work"
    start_hook
    start_straying_room "$probes" 2 4 "$seed"
    python3 "$top_srcdir/tests/reference/alertkiller.py" point "$work" "$daemon" "$library" \
        "$2" 1 "$3" || fail "the killer gave up (seed $seed)"
    python3 "$top_srcdir/tests/reference/alertkill.py" "$work/state" "$hook_log" \
        "$work/daemon.err" || fail "$1: see above (seed $seed)"
    stop "$hook_pid"
    stop "$board_pid"
}
walk watcher watcher "$points"
walk courier courier "$courier"
if [ -n "${LONG:-}" ]; then
    KILLPOINT_WHOLE=1
    export KILLPOINT_WHOLE
    walk whole watcher "$points"
fi
