#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# A replay is ended again and again before its recording is, in order and by SIGKILL,
# and goes on with the rest: 6 times in 12 days, 100 times in 120 days with LONG=1.
# What was asked to end loses nothing, and what is archived is the truth.
. "${top_srcdir:-.}/tests/lib.sh"
plain_only
need python3
days=12 stops=6 seed=${SEED:-1}
[ -z "${LONG:-}" ] || days=120 stops=100

echo "seed $seed"
python3 "$top_srcdir/tests/reference/replaystop.py" "$work" "$daemon" "$days" "$stops" "$seed" \
    "$report" || fail "see above (SEED=$seed)"
