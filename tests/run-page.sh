#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The page of a room, in a real browser: the day on which the clocks change of
# twelve enclosures and two more, one without a reading and one called by
# names that must be escaped.  What is looked at: tests/reference/page.py.
# With sanitizers only the programs are of interest: the page is looked at
# without the browser.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
TZ=CET-1CEST,M3.5.0,M10.5.0/3
begin=1792800000
end=$((begin + 2 * 86400))
hostile='Old <b>"one"</b> & '\''two'\'' &lt;</script>'
foreign='ვეფხვის სახლი 蛇の家 בית הנחש'
page=$work/morning.html

"$roomsim" record --days 2 --every 60 --seed 7 --start $begin > "$work/room.csv" ||
    fail "no recording"
"$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/state" --every 60 \
    > "$work/plain.conf" || fail "no configuration"
# Labels and names that are hard to write down; the enclosure "Far shelf" has never been heard of.
python3 - "$work/plain.conf" "$hostile" "$foreign" > "$work/room.conf" << 'END' || fail "the names"
import sys
text = open(sys.argv[1], encoding='utf-8').read()
quoted = '"%s"' % sys.argv[2].replace('\\', '\\\\').replace('"', '\\"')
for old, new in (('"First tub"', quoted), ('"Second tub"', '"%s"' % sys.argv[3]),
                 ('enclosure "G2"', 'enclosure "G 2"')):
    if text.count(old) != 1:
        sys.exit('%s is not there once' % old)
    text = text.replace(old, new)
print(text)
print('probe "far" { bus = "board" }')
print('enclosure "Far shelf" { label = "Nobody\'s" species = "corn snake" warm_side { probe = "far" } }')
END
"$daemon" -c "$work/room.conf" --replay "$work/room.csv" > "$work/replay.out" 2> "$work/replay.err" ||
    fail "the replay failed"
"$report" -c "$work/room.conf" morning --from $((end - 90000)) --to $end -o "$page" \
    > "$work/morning.out" 2> "$work/morning.err" || fail "no page is written"
[ -s "$page" ] || fail "the page is empty"
size=$(wc -c < "$page")
[ "$size" -lt 2000000 ] || fail "a page of $size bytes for fourteen enclosures"

look()
{
    python3 "$top_srcdir/tests/reference/$1" "$page" --says "$hostile" --says "$foreign" \
        --says "Nobody's" --never '<b>"one"' --never '&lt;</script>' --never "& 'two'" \
        --never '& &#39;' ${2:+--enclosures "$2"} ${AXE:+--axe "$AXE"} ${SHOTS:+--shots "$SHOTS"}
}

if grep -q __asan_init "$report"; then
    (unset AXE SHOTS && look pagesource.py) || fail "the page has faults"
    exit 0
fi
need chromium
look page.py 14 || fail "the page has faults"
