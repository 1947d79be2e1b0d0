#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The wall clock of a watching daemon is set back and ahead by seconds to days, 60
# times (1,000 with LONG=1), and taken back before that is believed, which leaves no
# trace; and twice (30 times) after that, which is told once and locks no archive.
. "${top_srcdir:-.}/tests/lib.sh"
need python3 rrdtool
library=$(cd "$top_builddir" && pwd)/tests/pace.so
[ -e "$library" ] || skip "no tests/pace.so"
grep -q __asan_init "$daemon" && skip "sanitizers want to be loaded before all others"
steps=60 standing=2 seed=${SEED:-1}
[ -z "${LONG:-}" ] || steps=1000 standing=30

echo "seed $seed"
python3 "$top_srcdir/tests/reference/clockstorm.py" "$work" "$daemon" "$library" "$steps" \
    "$standing" "$seed" || fail "see above (SEED=$seed)"
