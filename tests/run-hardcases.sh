#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The morning look in hard cases: holes, nights on which the clocks change, enclosures
# without a record, names in every alphabet, windows where nothing is, rooms of none and of
# a hundred (tests/reference/hardcases.py); then what is damaged, torn or cannot be written.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
reference=$top_srcdir/tests/reference/hardcases.py

python3 "$reference" record "$work" || fail "no recordings"
for name in month nights hundred; do
    "$daemon" -c "$work/$name.conf" --replay "$work/$name.csv" > "$work/$name.out" \
        2> "$work/$name.err" || fail "$name is not replayed"
done
TZ=Europe/Berlin
[ "$(TZ=$TZ date -d @1782864000 +%H)" = 02 ] || TZ=CET-1CEST,M3.5.0,M10.5.0/3
python3 "$reference" look "$report" "$work" > "$work/look.out" 2>&1 || fail "the look"

# ---- what cannot be written -----------------------------------------------------
page=$work/page.html

# ask STATUS WORDS...: of the last day of the month.
ask()
{
    wanted_status=$1
    shift
    "$report" -c "$work/month.conf" --from 1774915200 --to 1775001600 "$@" \
        > "$work/answer.out" 2> "$work/answer.err"
    same "$wanted_status" $? "status of $*"
}

# says PATTERN [FILE]
says()
{
    grep -q -- "$1" "${2:-$work/answer.err}" || fail "'$1' is not said"
}

# whole: the page is the one that was there.
whole()
{
    same "$before" "$(cksum < "$page")" "the page before"
    set -- "$page".??????
    [ ! -e "$1" ] || fail "half a page is left"
}

ask 0 morning -o "$work/page"
says '^<!DOCTYPE html>' "$work/page"
ask 0 morning -o "$page"
before=$(cksum < "$page")
(
    trap '' XFSZ
    ulimit -f 16 # 8 kB
    ask 1 morning -o "$page"
    ask 1 morning --format json -o "$page" && says "page.html cannot be written: "
) || exit 1
whole
ask 1 morning -o "$work/nowhere/page.html" && says 'nowhere/page.html cannot be written: No such file'
ask 1 morning -o "$work" && says 'cannot be written: Is a directory'
if [ -w /dev/full ]; then
    ask 1 morning -o /dev/full && says '/dev/full cannot be written: No space left'
    [ -c /dev/full ] || fail "a device was taken for a file"
    "$report" -c "$work/month.conf" morning > /dev/full 2> "$work/answer.err"
    same 1 $? "status with a full standard output" && says 'standard output cannot be written'
fi
# What a link leads to is renewed, not the link.
mkdir "$work/web" && ln -s "$work/web/page.html" "$work/link" && : > "$work/web/page.html"
ask 0 morning -o "$work/link"
[ -L "$work/link" ] || fail "the link is gone"
says '^<!DOCTYPE html>' "$work/web/page.html"

# ---- what is torn or damaged -------------------------------------------------------
state=$work/month.state
headline()
{
    sed -n 's,^<h1>\(.*\)</h1>$,\1,p' "$1"
}
good=$(headline "$page")
printf '{"time":1775001000,"id":"x","event":"rai' >> "$state/alerts.jsonl"
printf '\n{"time": 17\nno record at all\n' >> "$state/bands.jsonl"
ask 0 morning -o "$page"
says 'alerts.jsonl' && says 'never.rrd does not exist'
same "$good" "$(headline "$page")" "the headline with torn logs"
rm "$state/bands.jsonl" "$state/alerts.jsonl"
ask 0 morning -o "$page"
same "$good" "$(headline "$page")" "the headline without logs"

printf 'nothing of an archive' > "$state/archive/B two.rrd"
ask 1 morning -o "$page"
says 'B two: .*B two.rrd'
python3 "$top_srcdir/tests/reference/pagesource.py" "$page" \
    --says 'its record cannot be read' --says 'B two.rrd' ||
    fail "the page of a damaged archive"
ask 1 morning --format text
ask 1 morning --format json && says 'its record cannot be read' "$work/answer.out"
ask 1 graph 'B two' -o "$work/two.png" && says 'B two.rrd'
for name in A1 late unk room; do
    printf 'RRD' > "$state/archive/$name.rrd"
done
ask 1 morning -o "$page"
same 'No record can be read.' "$(headline "$page")" "the headline when all is damaged"
rm "$state/archive/"*.rrd
ask 1 morning -o "$page"
same 'Nothing has been recorded yet.' "$(headline "$page")" "the headline of the first day"
