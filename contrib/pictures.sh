#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The pictures of README.md, made anew: thirteen days and a morning of the simulated
# room, always the same, on which a tub is not misted, a heater sticks at two in the
# night, a door stands open and a probe is silent.
#
#     sh contrib/pictures.sh [FOLDER]
#
# They go to contrib/pictures/ unless a folder is named.  Takes the programs that
# contrib/demo.sh has built in build-demo/, or those in $top_builddir; the page is
# photographed with chromium.
cd "$(dirname "$0")/.." || exit 99
top_srcdir=$(pwd)
: "${top_builddir:=$top_srcdir/build-demo}"
. tests/lib.sh
folder=${1:-$top_srcdir/contrib/pictures}

need python3 chromium
[ -x "$report" ] || fail "there is no $report; sh contrib/demo.sh builds it"
mkdir -p "$folder" "$work/state" || exit 99

begin=1767571200                # 2026-01-05 00:00 UTC, a Monday
end=$((begin + 1150200))        # 2026-01-18 07:30
yesterday=$((end - 86400))

"$roomsim" record --days 13.3125 --every 60 --seed 7 --start $begin --calm \
    --fault missed-misting:T3:10d:4d --fault door-open:G2:302h:4h \
    --fault silent:s1c:306h:5h --fault stuck-heater:M1:314h:1d \
    > "$work/recording.csv" || fail "no recording"
start_hook
"$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/state" --every 60 \
    --webhook "$hook_url" > "$work/warmside.conf" || fail "no configuration"
"$daemon" -c "$work/warmside.conf" --replay "$work/recording.csv" --post \
    > "$work/replay.out" 2> "$work/replay.err" || fail "the replay ended with an error"

# draw FILE ARGUMENTS...
draw()
{
    draw_file=$1
    shift
    "$report" -c "$work/warmside.conf" "$@" -o "$draw_file" 2> "$work/draw.err" ||
        fail "no ${draw_file##*/}"
}
draw "$folder/stuck-heater.svg" graph M1 warm_side --from $yesterday --to $end --size 1000x480
draw "$folder/drying.svg" drying G2 --from $begin --to $end --size 1000x460
draw "$work/made.html" morning --from $yesterday --to $end
# The hour at which it was made is the one thing that would differ each time.
sed 's/Made [0-9]*-[0-9]*-[0-9]* [0-9:]*\./Made 2026-01-18 07:30./' "$work/made.html" \
    > "$work/morning.html"

# photograph FILE WIDTH SCREEN-HEIGHT HEIGHT PHONE: of the page from its top down.
photograph()
{
    PYTHONDONTWRITEBYTECODE=1 PYTHONPATH=$top_srcdir/tests/reference python3 - \
        "$work/morning.html" "$@" << 'END' || fail "no ${1##*/}"
import base64
import sys

import browser

page_file, out, width, screen, height, phone = sys.argv[1:]
browser.deadline(60)
with browser.Browser() as chromium:
    page = chromium.page()
    page.open(page_file, int(width), int(screen), phone == 'yes')
    clip = {'x': 0, 'y': 0, 'width': int(width), 'height': int(height), 'scale': 1}
    shot = page.call('Page.captureScreenshot', format='png', clip=clip, captureBeyondViewport=True)
with open(out, 'wb') as picture:
    picture.write(base64.b64decode(shot['data']))
END
}
photograph "$folder/morning-desk.png" 1200 900 792 no
photograph "$folder/morning-phone.png" 390 844 1158 yes

for picture in morning-desk.png morning-phone.png stuck-heater.svg drying.svg; do
    [ -s "$folder/$picture" ] || fail "$picture is empty"
    echo "$(wc -c < "$folder/$picture") bytes  $folder/$picture"
done
