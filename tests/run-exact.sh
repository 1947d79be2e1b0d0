#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Totals against a truth computed elsewhere: 120 days (or the number given)
# of several probes at different moments, irregular steps, outages, bands by
# day and night across a change of the clocks' hour.
. "${top_srcdir:-.}/tests/lib.sh"
plain_only
need python3
TZ="EST5EDT,M3.2.0,M11.1.0"
days=${1:-120}
seed=${2:-1}
exact=$top_srcdir/tests/reference/exact.py

python3 "$exact" make "$seed" "$days" "$work" || fail "no recording"
"$daemon" -c "$work/room.conf" --replay "$work/room.csv" > "$work/replay.out" 2> "$work/replay.err" ||
    fail "the replay failed"
python3 "$exact" check "$seed" "$days" "$work" "$report" || fail "the totals are not the truth"
