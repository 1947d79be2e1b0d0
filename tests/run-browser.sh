#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The look at the page is looked at: pages with faults of every kind, each of
# which must be named, and one without any.
. "${top_srcdir:-.}/tests/lib.sh"
need python3 chromium
grep -q __asan_init "$report" && skip "nothing of it is built; it is enough without sanitizers"
python3 "$top_srcdir/tests/reference/pagestubs.py" "$work" || fail "a fault is not told, or none is told of"
