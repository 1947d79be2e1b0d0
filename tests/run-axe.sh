#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The page as run-page.sh makes it, and axe-core's opinion of it: no finding
# that is serious or critical.  Only with LONG=1: axe-core comes by npm.
. "${top_srcdir:-.}/tests/lib.sh"
[ -n "${LONG:-}" ] || skip "only with LONG=1"
need python3 chromium npm tar
(cd "$work" && npm_config_cache=$work/npm timeout 120 npm pack axe-core@4 \
    > "$work/npm.out" 2> "$work/npm.err") || skip "axe-core cannot be had"
tar -xzf "$work"/axe-core-*.tgz -C "$work" || fail "axe-core cannot be unpacked"
AXE=$work/package/axe.min.js
[ -s "$AXE" ] || fail "there is no axe.min.js in axe-core"
export AXE
"$top_srcdir/tests/run-page.sh"
