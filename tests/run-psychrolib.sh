#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The air's formulae against PsychroLib, run here: over the grid of
# reference/psychrolib.tsv, which must be what it gives, and over every degree
# from 1 to 50 °C at every 5 %, and 1 and 2 % besides.  PsychroLib comes by npm;
# where that cannot be had, tests/air.c has the grid.
. "${top_srcdir:-.}/tests/lib.sh"
need node npm tar timeout
kept=$top_srcdir/tests/reference/psychrolib.tsv
(cd "$work" && HOME=$work npm_config_cache=$work/npm npm_config_fetch_retries=0 \
    timeout 60 npm pack psychrolib@1.1.1 > "$work/npm.out" 2> "$work/npm.err") ||
    skip "psychrolib cannot be had"
tar -xzf "$work"/psychrolib-1.1.1.tgz -C "$work" || fail "psychrolib cannot be unpacked"

# theirs TABLE: PsychroLib's figures for the places of such a table.
theirs()
{
    node "$top_srcdir/tests/reference/psychrolib.js" "$work/package/psychrolib.js" "$1" \
        2> "$work/node.err" || fail "psychrolib does not run"
}

# compare ROWS: $work/theirs with ours.  The tolerances are those of tests/air.c,
# which says why.
compare()
{
    cut -f 1,2 "$work/theirs" | "$top_builddir/tests/air_grid" > "$work/ours" ||
        fail "no figures of ours"
    paste "$work/theirs" "$work/ours" | awk -F '\t' -v wanted="$1" '
    function far(a, b) { return a > b ? a - b : b - a }
    function worst(what, by) { if (by > most[what]) most[what] = by }
    $1 != $8 || $2 != $9 { print "row " NR " is of another place"; bad = 1 }
    $6 != $13 { print "row " NR ": " $6 " there, " $13 " here"; bad = 1 }
    {
        worst("saturation", far($3, $10) / $3 / 0.0003)
        if ($4 > 0) worst("deficit", far($4, $11) / $4 / 0.0003)
        worst("point", far($5, $12) / ($6 == "ice" ? 0.01 : 0.05))
        worst("density", far($7, $14) / $7 / 0.0003)
        rows++
    }
    END {
        for (what in most) {
            printf "%s: the worst is %.2f of its tolerance\n", what, most[what]
            if (most[what] > 1) bad = 1
        }
        print rows " rows"
        exit bad || rows != wanted
    }' || fail "the air is not PsychroLib's"
}

grep -v '^#' "$kept" > "$work/kept"
theirs "$kept" > "$work/theirs"
diff "$work/kept" "$work/theirs" > "$work/diff.out" || fail "psychrolib.tsv is not what it gives"
compare 48

awk 'BEGIN {
    for (t = 1; t <= 50; t++)
        for (rh = 0; rh <= 100; rh += 5)
            if (rh) printf "%d\t%d\n", t, rh
            else printf "%d\t1\n%d\t2\n", t, t
}' > "$work/places"
theirs "$work/places" > "$work/theirs"
compare 1100
