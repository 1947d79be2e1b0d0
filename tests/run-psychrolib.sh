#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The air's formulae against PsychroLib, run here over the grid of
# reference/psychrolib.tsv, and that file against it.  Only with LONG=1:
# PsychroLib comes by npm.
. "${top_srcdir:-.}/tests/lib.sh"
[ -n "${LONG:-}" ] || skip "only with LONG=1"
need node npm tar
kept=$top_srcdir/tests/reference/psychrolib.tsv
(cd "$work" && npm_config_cache=$work/npm timeout 120 npm pack psychrolib@1.1.1 \
    > "$work/npm.out" 2> "$work/npm.err") || skip "psychrolib cannot be had"
tar -xzf "$work"/psychrolib-1.1.1.tgz -C "$work" || fail "psychrolib cannot be unpacked"

node "$top_srcdir/tests/reference/psychrolib.js" "$work/package/psychrolib.js" "$kept" \
    > "$work/theirs" 2> "$work/node.err" || fail "psychrolib does not run"
grep -v '^#' "$kept" > "$work/kept"
same 48 "$(wc -l < "$work/kept" | tr -d ' ')" "rows kept"
diff "$work/kept" "$work/theirs" > "$work/diff.out" || fail "psychrolib.tsv is not what it gives"
cut -f 1,2 "$work/theirs" | "$top_builddir/tests/air_grid" > "$work/ours" || fail "no figures of ours"

# The tolerances are those of tests/air.c, which says why.
paste "$work/theirs" "$work/ours" | awk -F '\t' '
function far(a, b) { return a > b ? a - b : b - a }
function worst(what, by) { if (by > most[what]) most[what] = by }
$1 != $8 || $2 != $9 { print "row " NR " is of another place"; bad = 1 }
$6 != $13 { print "row " NR ": " $6 " there, " $13 " here"; bad = 1 }
{
    worst("saturation", far($3, $10) / $3 / 0.0003)
    worst("deficit", far($4, $11) / $4 / 0.0003)
    worst("point", far($5, $12) / 0.01)
    worst("density", far($7, $14) / $7 / 0.0003)
    rows++
}
END {
    for (what in most) {
        printf "%s: the worst is %.2f of its tolerance\n", what, most[what]
        if (most[what] > 1) bad = 1
    }
    print rows " rows"
    exit bad || rows != 48
}' || fail "the air is not PsychroLib's"
