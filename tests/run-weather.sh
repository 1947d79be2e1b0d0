#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Measured data: a year of hourly weather at three airports, each month's
# totals against a calculation in another language.  The data is not ours to
# carry; WARMSIDE_DATA names its folder.
. "${top_srcdir:-.}/tests/lib.sh"
plain_only
need python3
data=${WARMSIDE_DATA:-$top_srcdir/../shared/data}/weather-2013-hourly.csv
[ -r "$data" ] || skip "the weather data is not here"
weather=$top_srcdir/tests/reference/weather.py

python3 "$weather" make "$data" "$work" || fail "no recording"
"$daemon" -c "$work/room.conf" --replay "$work/room.csv" > "$work/replay.out" 2> "$work/replay.err" ||
    fail "the replay failed"
python3 "$weather" check "$data" "$work" "$report" || fail "the totals differ"
