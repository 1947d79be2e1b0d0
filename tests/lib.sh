# SPDX-License-Identifier: GPL-3.0-or-later
#
# For whole-program tests; a script begins with
#
#     #!/bin/sh
#     # SPDX-License-Identifier: GPL-3.0-or-later
#     . "${top_srcdir:-.}/tests/lib.sh"
#
# and then has a folder of its own in $work, the programs' paths in $daemon,
# $report, $roomsim, $partner_hook, $partner_master, and the helpers below.
# Whatever was begun with `start` is ended, and $work removed, when the
# script ends; KEEP=1 keeps it.
# shellcheck shell=sh disable=SC2034

set -u
: "${top_srcdir:=.}" "${top_builddir:=.}"
TZ=UTC LC_ALL=C
export TZ LC_ALL

daemon=$top_builddir/warmsided
report=$top_builddir/warmside
roomsim=$top_builddir/roomsim
partner_hook=$top_builddir/tests/partner_hook
partner_master=$top_builddir/tests/partner_master

test_name=$(basename "$0" .sh)
work=$(mktemp -d "${TMPDIR:-/tmp}/warmside-$test_name.XXXXXX") || exit 99
started=

# wait_until SECONDS COMMAND...: until the command succeeds; false when it
# never did in that time.
wait_until()
{
    wait_tenths=$(($1 * 10))
    shift
    until "$@"; do
        wait_tenths=$((wait_tenths - 1))
        [ "$wait_tenths" -gt 0 ] || return 1
        sleep 0.1
    done
}

# fail SENTENCE: ends the test as failed, with what the started programs said.
fail()
{
    echo "FAIL: $*"
    for fail_log in "$work"/*.err "$work"/*.out; do
        [ -s "$fail_log" ] || continue
        echo "--- the end of ${fail_log##*/}:"
        tail -n 20 "$fail_log"
    done
    exit 1
}

# skip SENTENCE: ends the test as skipped.
skip()
{
    echo "SKIP: $*"
    exit 77
}

# plain_only: skips under sanitizers, unless LONG is set: for what reckons for long, or reads
# the source alone, and whose parts have unit programs that run there too.
plain_only()
{
    [ -n "${LONG:-}" ] || ! grep -q __asan_init "$daemon" ||
        skip "what it looks at does not depend on how it is built"
}

# need TOOL...: skips unless each is installed (or is an executable path).
need()
{
    for need_tool; do
        command -v "$need_tool" > /dev/null || skip "$need_tool is not there"
    done
}

# in_namespace OPTION...: begins the script anew where its mounts, or its network, are its
# own (options of unshare); skips where that is not permitted.
in_namespace()
{
    [ -z "${IN_NAMESPACE:-}" ] || return 0
    need unshare
    unshare "$@" true 2> /dev/null || skip "namespaces are not permitted here"
    IN_NAMESPACE=1
    export IN_NAMESPACE
    trap - EXIT
    rm -rf "$work"
    exec unshare "$@" sh "$0"
}

# unsummed COMMAND...: a replay with --post, up to three times until its receiver got no
# summary: on a machine so busy that messages wait while simulated hours pass, what
# came and went meanwhile is told in one.
unsummed()
{
    for unsummed_try in 1 2 3; do
        "$@"
        grep -q 'alert\.summary' "$hook_log" || return 0
        echo "try $unsummed_try: the machine is too busy, some messages came as a summary"
    done
}

# same EXPECTED FOUND WHAT
same()
{
    [ "$1" = "$2" ] || fail "$3: expected '$1', found '$2'"
}

# start NAME COMMAND...: in the background, with its output in $work/NAME.out
# and NAME.err; its process id is in $started_pid.
start()
{
    start_name=$1
    shift
    # The child would empty it only when it comes to run: nobody may wait for what an
    # earlier one of that name has said.
    : > "$work/$start_name.out"
    : > "$work/$start_name.err"
    "$@" > "$work/$start_name.out" 2> "$work/$start_name.err" &
    started_pid=$!
    started="$started $started_pid"
}

gone()
{
    ! kill -0 "$1" 2> /dev/null
}

# stop PID [SIGNAL]: asks it to end and waits, for 10 s at most; its exit
# status is in $stop_status.
stop()
{
    kill -s "${2:-TERM}" "$1" 2> /dev/null
    if ! wait_until 10 gone "$1"; then
        kill -s KILL "$1" 2> /dev/null
    fi
    wait "$1" 2> /dev/null
    stop_status=$?
}

clean_up()
{
    for clean_pid in $started; do
        gone "$clean_pid" || stop "$clean_pid"
    done
    if [ -n "${KEEP:-}" ]; then
        echo "kept: $work"
    else
        rm -rf "$work"
    fi
}
trap clean_up EXIT
trap 'exit 129' HUP
trap 'exit 130' INT
trap 'exit 143' TERM

# side_by_side PART...: runs this script once for each PART, all at once, prints what
# they say and ends as they do; a part that fails is not hidden by one that is skipped.
side_by_side()
{
    side_pids=
    for side_part; do
        sh "$0" "$side_part" > "$work/$side_part.said" 2>&1 &
        side_pids="$side_pids $!"
        started="$started $!"
    done
    side_worst=0
    for side_pid in $side_pids; do
        wait "$side_pid"
        side_status=$?
        case $side_status,$side_worst in
        0,*) ;;
        *,0 | *,77) side_worst=$side_status ;;
        esac
    done
    cat "$work"/*.said
    exit $side_worst
}

# start_hook [ANSWERS]: a webhook receiver; its address is in $hook_url, what
# it received in $hook_log (one JSON object a line).
start_hook()
{
    hook_log=$work/hook.jsonl
    rm -f "$work/hook.port"
    : > "$hook_log"
    start hook "$partner_hook" --log "$hook_log" --port-file "$work/hook.port" \
        --answers "${1:-200}"
    hook_pid=$started_pid
    wait_until 10 test -s "$work/hook.port" || fail "partner_hook does not listen"
    hook_url=http://127.0.0.1:$(cat "$work/hook.port")/hook
}

# hook_count NUMBER: has the receiver received at least so many requests?
hook_count()
{
    [ "$(wc -l < "$hook_log")" -ge "$1" ]
}

# start_room [OPTIONS OF roomsim serve]: a simulated room behind $rack and $board.
start_room()
{
    rack=$work/rack
    board=$work/board
    start room "$roomsim" serve --rack "$rack" --board "$board" "$@"
    room_pid=$started_pid
    wait_until 120 test -e "$rack" || fail "roomsim does not serve"
}

# pty_pair ONE OTHER: two paths that are the ends of one serial line.
pty_pair()
{
    need socat
    start "socat-${1##*/}" socat "pty,raw,echo=0,link=$1" "pty,raw,echo=0,link=$2"
    pty_pid=$started_pid
    wait_until 10 test -e "$2" || fail "socat makes no pair of terminals"
}

# start_straying_room PROBES PLACES RATE SEED [GATHER]: a board whose values stray all
# the time until $work/calm is there (see reference/alertboard.py), and its
# configuration in $work/room.conf, with a state folder $work/state and the
# webhook of start_hook.
start_straying_room()
{
    straying=$top_srcdir/tests/reference/alertboard.py
    start board python3 "$straying" serve "$work/board" "$1" "$3" "$work/calm" "$4"
    board_pid=$started_pid
    wait_until 10 test -e "$work/board" || fail "no board"
    {
        cat << CONF
state = "$work/state"
gather = "${5:-0.3s}"
archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }
bus "board" { port = "$work/board"  speaks = "lines"  line = "{probe} {temperature} {humidity}"  every = "1s" }
webhook "phone" { endpoint = "$hook_url" }
CONF
        python3 "$straying" conf "$1" "$2"
    } > "$work/room.conf"
}

# start_two_tubs STATE: a board whose probes a and b give what `degrees A B` said last, three
# times a second, and a configuration in $work/room.conf: T3 and T4, 27..31 C, limits 15..36 C,
# told at once to the webhook of start_hook.
start_two_tubs()
{
    state=$1
    hook_seen=0
    degrees 30.0 30.0
    pty_pair "$work/near" "$work/far"
    cat > "$work/room.conf" << CONF
state = "$state"
gather = "0s"
archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }
bus "board" { port = "$work/near"  speaks = "lines"  line = "{probe} {temperature}"  every = "1s" }
probe "a" { bus = "board" }
probe "b" { bus = "board" }
enclosure "T3" { warm_side { probe = "a"  temperature {
    day = "27..31 C"  limits = "15..36 C"  patience = "0s"  off_delay = "1s" } } }
webhook "phone" { endpoint = "$hook_url" }
enclosure "T4" { warm_side { probe = "b"  temperature {
    day = "27..31 C"  limits = "15..36 C"  patience = "0s"  off_delay = "1s" } } }
CONF
    start board sh -c "while sleep 0.3; do cat '$work/degrees'; done > '$work/far'"
}

# degrees OF_A OF_B
degrees()
{
    printf 'a %s\nb %s\n' "$1" "$2" > "$work/degrees.new"
    mv "$work/degrees.new" "$work/degrees"
}

# reading_is ENCLOSURE VALUE: is that its latest, by now.json?
reading_is()
{
    python3 -c "import json, sys
sys.exit([e['places'][0]['value'] for e in json.load(open('$state/now.json'))['enclosures']
          if e['name'] == '$1'] != [$2])" 2> /dev/null
}

# start_tubs_daemon: on $work/room.conf; its process id is in $daemon_pid.
start_tubs_daemon()
{
    rm -f "$state/now.json"
    hook_seen=$(wc -l < "$hook_log")
    start daemon "$daemon" -c "$work/room.conf"
    daemon_pid=$started_pid
    wait_until 30 grep -qs '"value":3' "$state/now.json" || fail "no readings"
}

# hear_from NUMBER: from which request on `told` listens.
hear_from()
{
    hook_seen=$1
}

# told WORDS: does a title say so since then, or the daemon was started?
told()
{
    tail -n +$((hook_seen + 1)) "$hook_log" | grep -q "\\\\\"title\\\\\":\\\\\"[^\\]*$1"
}

outbox_is_empty()
{
    [ -z "$(find "$state/outbox" -name '*.json')" ]
}

# known_seconds ENCLOSURE FROM TO: how much of a window its totals know.
known_seconds()
{
    "$report" -c "$work/room.conf" totals --format json --from "$2" --to "$3" > "$work/totals.out" ||
        fail "no totals"
    python3 -c "import json
t = json.load(open('$work/totals.out'))
p = [p for e in t['enclosures'] if e['name'] == '$1' for p in e['places']
     if p['quantity'] == 'temperature'][0]
print('%.1f' % (t['to'] - t['from'] - p['unknown_seconds']))"
}

# archive NAME SERIES MINUTE...: a hand-made archive below $state, of the hour before
# $hour; each MINUTE is value:low:high:ok:out, repeated by turns.
archive()
{
    file=$state/archive/$1.rrd
    series=$2
    shift 2
    rrdtool create "$file" --start $((hour - 3600)) --step 60 \
        "DS:$series:GAUGE:2000000000:U:U" "DS:${series}_lo:GAUGE:2000000000:U:U" \
        "DS:${series}_hi:GAUGE:2000000000:U:U" "DS:${series}_ok:GAUGE:2000000000:U:U" \
        "DS:${series}_out:GAUGE:2000000000:U:U" RRA:AVERAGE:0.99:1:14400 \
        RRA:AVERAGE:0.99:10:1000 RRA:MIN:0.99:10:1000 RRA:MAX:0.99:10:1000 \
        RRA:AVERAGE:0.99:60:1000 RRA:MIN:0.99:60:1000 RRA:MAX:0.99:60:1000
    at=$((hour - 3600))
    while [ $at -lt $hour ]; do
        for minute; do
            at=$((at + 60))
            echo "$at:$minute"
        done
    done | xargs rrdtool update "$file"
}
