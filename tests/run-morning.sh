#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# warmside morning as it is called at six: what contrib/ has for systemd and
# cron does what it says, a file is replaced as a whole or not at all, and its
# ending says what it is.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
report=$(cd "$top_builddir" && pwd)/warmside
contrib=$(cd "$top_srcdir" && pwd)/contrib
begin=1792800000

"$roomsim" record --days 1 --every 60 --seed 7 --start $begin > "$work/room.csv" || fail "no recording"
"$roomsim" conf --rack "$work/rack" --board "$work/board" --state "$work/state" --every 60 \
    > "$work/room.conf" || fail "no configuration"
"$daemon" -c "$work/room.conf" --replay "$work/room.csv" > "$work/replay.out" 2> "$work/replay.err" ||
    fail "the replay failed"

# is KIND FILE
is()
{
    case $1 in
    html) head -n 1 "$2" | grep -qx '<!DOCTYPE html>' && tail -n 1 "$2" | grep -qx '</html>' ;;
    json) python3 -c "import json, sys; json.load(open(sys.argv[1]))['headline']" "$2" ;;
    text) head -n 1 "$2" | grep -q '^[A-Z].*\.$' && tail -n 1 "$2" | grep -q 'a licensed electrician\.$' ;;
    esac || fail "$2 is no $1"
}

# morning ARGUMENTS...
morning()
{
    "$report" -c "$work/room.conf" --from $begin --to $((begin + 86400)) morning "$@" 2> "$work/morning.err"
}

# ---- what is written where ---------------------------------------------------------
for ending in html txt json page; do
    morning -o "$work/a.$ending" || fail "no .$ending"
done
is html "$work/a.html"
is html "$work/a.page"
is text "$work/a.txt"
is json "$work/a.json"
morning -o "$work/b.html" --format text || fail "no text in .html"
is text "$work/b.html"
morning > "$work/page" || fail "no page in a pipe"
is html "$work/page"

# ---- as a whole or not at all ------------------------------------------------------
morning -o "$work/none/a.html" && fail "a file is written into a folder that is not there"
grep -q 'none/a.html cannot be written' "$work/morning.err" || fail "that is not said"
for ending in html json; do
    cp "$work/a.$ending" "$work/old"
    (ulimit -f 8 && trap '' XFSZ && morning -o "$work/a.$ending") && fail "a file that does not fit is taken"
    grep -qE "(a.$ending|temporary file) cannot be written" "$work/morning.err" || fail "that it does not fit is not said"
    cmp "$work/old" "$work/a.$ending" || fail "the file before is gone"
    set -- "$work/a.$ending".??????
    [ ! -e "$1" ] || fail "half a file is left behind"
done
cp "$work/a.html" "$work/old"
exec 3< "$work/a.html"
morning -o "$work/a.html" || fail "no page"
cmp "$work/old" - <&3 || fail "the page was changed under its reader"

# ---- for systemd and cron ----------------------------------------------------------
# The window is the last day, and nothing is recorded of it: said, and no failure.
mkdir "$work/home"
units=$top_builddir/contrib/systemd
sed -n 's/^ExecStart=//p' "$units/warmside-morning.service" > "$work/commands"
sed -n 's/^ExecStart=//p' "$units/warmside-drying.service" >> "$work/commands"
sed -n 's/^[0-9]* [0-9]* \* \* \* //p' "$contrib/drying.cron" "$contrib/morning.cron" >> "$work/commands"
# That is another user's crontab, who writes there.
grep -q -e --save "$contrib/morning.cron" && fail "a reader's crontab writes"
same 5 "$(wc -l < "$work/commands")" "commands in contrib/"
sed -i "s,/var/lib/warmside-morning/,$work/home/systemd-,; s,/[^ ]*/bin/warmside,\"$report\" -c room.conf," \
    "$work/commands"
while read -r command; do
    (cd "$work" && HOME=$work/home sh -c "$command" > "$work/mail") || fail "fails: $command"
done < "$work/commands"
is html "$work/home/systemd-morning.html"
is html "$work/home/morning.html"
is text "$work/mail"
[ -s "$work/state/dryings.jsonl" ] || fail "no drying is kept"

command -v systemd-analyze > /dev/null || { echo "unchecked: the units (no systemd-analyze)" && exit 0; }
cp "$contrib/systemd/warmside-drying.timer" "$contrib/systemd/warmside-morning.timer" "$work"
for unit in drying.service morning.service; do
    sed "s,/[^ ]*/bin/warmside,$report," "$units/warmside-$unit" > "$work/warmside-$unit"
done
systemd-analyze verify --man=no "$work"/warmside-*.service "$work"/warmside-*.timer \
    > "$work/verify.out" 2>&1 || fail "systemd objects"
[ ! -s "$work/verify.out" ] || fail "systemd has something to say"
