#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The live watch under a clock of ours for 4 days, and 16 days of a recording in 5
# pieces; with LONG=1 400 days of each, the recording in 40 pieces and posted to a
# receiver that is away for some of them: nothing grows, nothing waits in the end, and
# the totals are what another language makes of the readings.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
[ $# -gt 0 ] || side_by_side live recording
days=4 every=900 recorded=16 pieces=5
[ -z "${LONG:-}" ] || days=400 every=1800 recorded=400 pieces=40

if [ "$1" = live ]; then
    library=$(cd "$top_builddir" && pwd)/tests/pace.so
    [ -e "$library" ] || skip "no tests/pace.so"
    grep -q __asan_init "$daemon" && skip "sanitizers want to be loaded before all others"
    python3 "$top_srcdir/tests/reference/soak.py" "$work" "$daemon" "$library" "$days" "$every" \
        1 "$report" "$partner_hook" || fail "the live watch, see above"
else
    python3 "$top_srcdir/tests/reference/soakpieces.py" "$work" "$daemon" "$recorded" "$pieces" \
        1 "$report" "$partner_hook" || fail "the recording, see above"
fi
