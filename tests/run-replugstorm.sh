#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A port that is unplugged and plugged in again under other names, 1,000 times (10,000
# with LONG=1), while another stays: no reading is missed, a silence is told when it
# lasts and only then, memory and descriptors stay what they were.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
library=$(cd "$top_builddir" && pwd)/tests/pace.so
[ -e "$library" ] || skip "no tests/pace.so"
grep -q __asan_init "$daemon" && skip "sanitizers want to be loaded before all others"
times=1000
[ -z "${LONG:-}" ] || times=10000

python3 "$top_srcdir/tests/reference/replug.py" "$work" "$daemon" "$library" "$times" "$report" ||
    fail "see above"
