#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Watcher, archivist and courier are killed under steady alert traffic, 30
# times (300 with LONG=1): what the webhook received is what the log says was
# told, none missing, none under two names, nothing raised twice.  SEED=N
# repeats the kills, as far as time repeats.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
kills=30 probes=40 places=2
[ -z "${LONG:-}" ] || kills=300 probes=320 places=4
seed=${SEED:-$(date +%s)}

start_hook
start_straying_room "$probes" "$places" 5 "$seed"
python3 "$top_srcdir/tests/reference/alertkiller.py" random "$work" "$daemon" "$kills" "$seed" ||
    fail "the killer gave up (seed $seed)"
python3 "$top_srcdir/tests/reference/alertkill.py" "$work/state" "$hook_log" \
    "$work/daemon.err" || fail "see above (seed $seed)"
