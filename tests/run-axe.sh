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

# It can be discontent.
python3 "$top_srcdir/tests/reference/pagestubs.py" --make "$work/stub.html" 2
sed 's/<h2>Enclosure 1/<img src="data:,">&/' "$work/stub.html" > "$work/broken.html"
python3 "$top_srcdir/tests/reference/page.py" "$work/broken.html" --axe "$AXE" > "$work/broken.txt" &&
    fail "a picture without a name is no fault"
grep -q 'FAULT: .*axe-core, critical: .*(image-alt)' "$work/broken.txt" || {
    cat "$work/broken.txt"
    fail "axe-core does not find the picture without a name"
}

"$top_srcdir/tests/run-page.sh"
