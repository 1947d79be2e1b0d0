#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Measured data: the dew point of a year of hourly weather at three airports
# (nycflights13, data-raw/weather.csv, commit 1273c4e, CC0; °F).  The data is not
# ours to carry; WARMSIDE_DATA names its folder.
#
# Its humidity was not measured but computed, to 0.01 %, from temperature and dew
# point, over water also below 0 °C: this tests the formula.  Each column is the
# greatest of an hour's reports, so some rows are of no one moment: those whose
# humidity is 0.5 % or more from what temperature and dew point give (WMO-No. 8,
# annex 4.B, eq. 4.B.1) are left out, and 24309 remain.  Tolerance 0.15 °C, the
# mean 0.03 °C.
. "${top_srcdir:-.}/tests/lib.sh"
data=${WARMSIDE_DATA:-$top_srcdir/../shared/data}/weather-2013-hourly.csv
[ -r "$data" ] || skip "the weather data is not here"

awk -F , '
function celsius(f) { return (f - 32) / 1.8 }
function magnus(t) { return exp(17.62 * t / (243.12 + t)) }
NR > 1 && $6 != "NA" && $7 != "NA" && $8 != "NA" {
    by = 100 * magnus(celsius($7)) / magnus(celsius($6)) - $8
    if (by > -0.5 && by < 0.5) printf "%s %.6f %s %.6f\n", $1 "/" $15, celsius($6), $8, celsius($7)
}' "$data" > "$work/rows"
cut -d ' ' -f 2,3 "$work/rows" | "$top_builddir/tests/air_grid" > "$work/ours" || fail "no figures"

paste "$work/rows" "$work/ours" | awk '
{
    by = $NF - $4
    sum += by
    rows++
    if (by < 0) by = -by
    if (by > most) most = by
}
END {
    if (rows) mean = sum / rows
    printf "%d rows: %.4f °C on the mean, %.4f at most\n", rows, mean, most
    exit rows != 24309 || most > 0.15 || mean > 0.03 || mean < -0.03
}' || fail "the dew points are not those written there"
