#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# warmsided --draft on pseudo-terminals: a board that prints lines, probes that
# libmodbus answers for, a port that somebody has.  The draft must be in order
# as it stands, with its examples taken in, and run.  A search of all addresses
# is left to LONG=1; here Ctrl-C ends it once the probes are known.
. "${top_srcdir:-.}/tests/lib.sh"
partner=$top_builddir/tests/partner_probes
[ -x "$partner" ] || skip "no libmodbus, so nobody is at the far end"
need flock python3
rack=$work/rack
draft=$work/home/warmside.conf
mkdir "$work/home" "$work/state"

# drafted PATTERN [FILE]
drafted()
{
    grep -qE -- "$1" "${2:-$draft}" || fail "'$1' is not in the draft"
}

# in_order FILE WHAT: --check finds no fault, and so many probes.
in_order()
{
    "$daemon" -c "$1" --check > "$work/check.out" 2>&1 || fail "$2 has faults"
    grep -qE "is in order: $3" "$work/check.out" || fail "$2 does not hold $3"
}

# ---- a board, and nothing beside ------------------------------------------------
pty_pair "$work/board" "$work/far"
(while echo "w1,23.1,45.2" && echo "sill\"3,24.5,38.0"; do sleep 0.2; done) > "$work/far" 2> /dev/null &
started="$started $!"
"$daemon" --draft "$work/board" > "$work/printed.conf" 2> "$work/draft.err"
same 0 $? "status of a draft that is printed"
in_order "$work/printed.conf" "the printed draft" "0 enclosures, 2 probes on 1 bus(es)?"
drafted '^probe "board w1" .*# 23.1 °C, 45 %$' "$work/printed.conf"
drafted '^probe "board sill_3" \{ bus = "board"  address = "sill\\"3" \}' "$work/printed.conf"

# ---- a board, probes, and a port that somebody has -------------------------------
start probes "$partner" "$rack" "$work/requests" 1@9600:4:1:231,552 2@9600:3:0:552,231 \
    3@9600:4:1:251,305 4@9600:4:40:1,2
start held "$partner" "$work/held" "$work/requests.held" 1@9600:4:1:231,552
wait_until 10 test -e "$work/held" || fail "no far end"
start holder flock "$work/held" sleep 100
holder_pid=$started_pid
wait_until 10 sh -c "! flock -n '$work/held' true" || fail "nobody holds the port"
cp "$top_srcdir/conf/species.conf" "$work/home"
start draft "$daemon" -c "$draft" --draft "$work/board" "$work/held" "$rack" "$work/none"
draft_pid=$started_pid
wait_until 60 grep -qs 'address 4: ' "$work/draft.err" || fail "the probes are not found"
stop "$draft_pid" INT
same 0 "$stop_status" "status of a draft"
grep -q 'left out: .*held is held by flock' "$work/draft.err" || fail "who holds the port is not said"
grep -q 'warmside.conf is written, with 5 probes' "$work/draft.err" || fail "it is not told as written"
[ -s "$work/requests.held" ] && fail "the port that somebody has was asked"
in_order "$draft" "the draft" "0 enclosures, 5 probes on 2 buses"
drafted '^include\("species.conf"\)$'
drafted '^bus "rack" \{ port = ".*/rack"  speaks = "modbus"  baud = 9600  parity = "none" \}$'
drafted '^probe "rack 2" .*"holding 1 / 10"  humidity = "holding 0 / 10" }  # 23.1 °C, 55 %$'
drafted '^#   or it has  temperature = "input 2 / 10"'
drafted '^# Somebody is at address 4 and answers'
drafted '^# .*/held is held by flock \(process [0-9]+\); end that first\.$'
drafted '^# .*/none: (there is no such port|not looked at)'
drafted '^#   - Every heater needs a thermostat of its own'
drafted "warmsided -c $draft --read --watch"

# A second one is refused, before anything is asked.
cp "$draft" "$work/first"
: > "$work/requests.before"
cp "$work/requests" "$work/requests.before"
"$daemon" -c "$draft" --draft "$rack" > "$work/again.out" 2> "$work/again.err"
same 1 $? "status of a draft over a file"
grep -q 'exists, and a draft never overwrites: name another file with -c' "$work/again.err" ||
    fail "it is not said that the file exists"
cmp -s "$draft" "$work/first" || fail "the draft is overwritten"
cmp -s "$work/requests" "$work/requests.before" || fail "a port is asked in vain"

# Its examples, taken in, are in order too.
sed 's/^#\(enclosure \|room \|}\)/\1/; s/^#\(	\)/\1/' "$draft" |
    awk '/^webhook|^#webhook/ { exit } { print }' > "$work/home/taken.conf"
in_order "$work/home/taken.conf" "the draft with its examples" "1 enclosures? and the room, 5 probes"
grep -qE '^	warm_side \{ probe = "board (w1|sill_3)" \}' "$work/home/taken.conf" ||
    fail "the example names no probe"

# As it stands it runs and reads.
stop "$holder_pid"
start watch "$daemon" -c "$draft"
watch_pid=$started_pid
is_read()
{
    python3 -c "import json, sys
sys.exit(sum('time' in p for p in json.load(open(sys.argv[1]))['probes']) < 5)" \
        "$(dirname "$draft")/state/now.json" 2> /dev/null
}
wait_until 30 is_read || fail "the watch of the draft does not read every probe"
stop "$watch_pid"

# ---- a board as hostile as they come ----------------------------------------------
# Latin-1, names with signs in them and too long ones, a control of the terminal.
pty_pair "$work/wild" "$work/wild.far"
(while printf 'H\303\266hle: 23.1\260C 45.2%%\nw1 # /* x: 24.1\260C 40%%\nK\374che\302\2332J: 22.1\260C 48.2%%\n' &&
    printf '%070d: 21.0\260C 50%%\n' 7; do sleep 0.2; done) > "$work/wild.far" 2> /dev/null &
started="$started $!"
"$daemon" -c "$work/wild.conf" --draft "$work/wild" 2> "$work/wild.err"
same 0 $? "status of the draft of a wild board"
in_order "$work/wild.conf" "the draft of a wild board" "0 enclosures, 3 probes on 1 bus(es)?"
drafted 'line = "\{probe\}: \{temperature\}\?C \{humidity\}%"' "$work/wild.conf"
drafted '^probe "board H_hle" .*address = "Höhle" \}  # 23.1 °C, 45 %$' "$work/wild.conf"
drafted 'address = "K\?che\?2J" \}  # 22.1 °C, 48 %$' "$work/wild.conf"
drafted '^# Left out, for its name has a tab in it or more than 60 characters: 0000' "$work/wild.conf"
LC_ALL=C grep -q "$(printf '\302\233')" "$work/wild.conf" && fail "a terminal's command is in the draft"
grep -q 'with 3 probes' "$work/wild.err" || fail "what is left out is counted"

# What cannot be written is printed, and leaves nothing that bars the next try.
(
    trap '' XFSZ
    ulimit -f 1
    "$daemon" -c "$work/cut.conf" --draft "$work/board" 2>&1
) | cat > "$work/cut.out"
grep -q 'cut.conf cannot be written: File too large; here is the draft instead' "$work/cut.out" ||
    fail "it is not said that the draft is printed instead"
grep -q '^probe "board w1"' "$work/cut.out" || fail "the search is lost with its file"
[ -e "$work/cut.conf" ] && fail "a stump is left"
ln -s "$work/nowhere" "$work/dangling.conf"
"$daemon" -c "$work/dangling.conf" --draft "$work/board" 2> "$work/again.err"
same 1 $? "status of a draft over a link that leads nowhere"
grep -q 'exists, and a draft never overwrites' "$work/again.err" || fail "the link is not seen"

# It is loaded before it is called written.
mkdir "$work/bad"
echo 'species "x" { nonsense = 1 }' > "$work/bad/species.conf"
"$daemon" -c "$work/bad/warmside.conf" --draft "$work/board" 2> "$work/again.err"
same 1 $? "status of a draft with faults"
grep -q 'bad/species.conf:1: ' "$work/again.err" || fail "the fault is not told"
grep -q 'is written, but has these faults' "$work/again.err" || fail "a draft with faults is praised"
newline=$(printf 'x\ny')
ln -s "$work/board" "$work/$newline"
"$daemon" --draft "$work/$newline" > "$work/again.out" 2> "$work/again.err"
same 1 $? "status with a line end in a port"
grep -q 'what no configuration can' "$work/again.err" || fail "a line end in a port is let through"
ln -s "$work/board" "$work/say\"so"
"$daemon" --draft "$work/say\"so" > "$work/quoted.conf" 2> "$work/again.err"
same 0 $? "status with a quote in a port"
in_order "$work/quoted.conf" "the draft of a quoted port" "0 enclosures, 2 probes on 1 bus(es)?"

# ---- nothing to draft from --------------------------------------------------------
"$daemon" --draft "$work/none" > "$work/again.out" 2> "$work/again.err"
same 1 $? "status without a port"
grep -q 'there is no such port' "$work/again.err" || fail "the port is not told as missing"
grep -q 'no probe is found, so no draft is written' "$work/again.err" || fail "no draft is not told"
[ -s "$work/again.out" ] && fail "a draft of nothing is printed"
"$daemon" --draft ttyUSB0 2> "$work/again.err"
same 1 $? "status with what is no port"
grep -q '"ttyUSB0" is no port; write a path that begins with /' "$work/again.err" ||
    fail "what a port is is not said"
"$daemon" -c "$work/nowhere/x.conf" --draft "$work/board" 2> "$work/again.err"
same 1 $? "status with a folder that is not there"
grep -q 'x.conf cannot be written: No such file' "$work/again.err" || fail "the folder is not told of"

# ---- all of it --------------------------------------------------------------------
[ -n "${LONG:-}" ] || exit 0
"$daemon" -c "$work/home/whole.conf" --draft "$rack" 2> "$work/draft.err"
same 0 $? "status of a whole search"
in_order "$work/home/whole.conf" "the whole draft" "0 enclosures, 3 probes on 1 bus(es)?"
