#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Watcher, archivist, courier and all of them at once are killed while they watch
# a room, 24 times (600 with LONG=1): every minute of the archives is what another
# language makes of the readings, as if nobody had been killed; and every alert is
# told.  SEED=N: others.
. "${top_srcdir:-.}/tests/lib.sh"
need python3 rrdtool
library=$(cd "$top_builddir" && pwd)/tests/pace.so
[ -e "$library" ] || skip "no tests/pace.so"
grep -q __asan_init "$daemon" && skip "sanitizers want to be loaded before all others"
kills=24 seed=${SEED:-1}
[ -z "${LONG:-}" ] || kills=600

start_hook
echo "seed $seed"
python3 "$top_srcdir/tests/reference/killstorm.py" "$work" "$daemon" "$library" "$kills" "$seed" \
    "$hook_url" || fail "the archives are not the truth (SEED=$seed)"
python3 "$top_srcdir/tests/reference/alertkill.py" "$work/state" "$hook_log" \
    "$work/daemon.err" || fail "see above (SEED=$seed)"
