#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The first evening of somebody who has never seen this: each thing that goes
# wrong is told in one sentence, with what would help.  And which probe is
# which, by warming it.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
# Each with probes of its own, since most of it is waiting.
[ $# -gt 0 ] || side_by_side bus port configuration watch in_place given_up
daemon=$(cd "$top_builddir" && pwd)/warmsided
bus_py=$top_srcdir/tests/reference/strangerbus.py
report=$(cd "$top_builddir" && pwd)/warmside

# bus NAME OPTIONS...: probes behind $work/NAME.
bus()
{
    bus_name=$1
    shift
    start "$bus_name" python3 "$bus_py" "$work/$bus_name" "$@"
    wait_until 10 test -e "$work/$bus_name" || fail "no bus $bus_name"
}

# conf NAME BAUD ADDRESS...: a configuration for it; probes p11, p12, ...
conf()
{
    conf=$work/$1.conf
    {
        echo "state = \"$work/state-$1\""
        echo "bus \"rack\" { port = \"$work/$1\" speaks = \"modbus\" baud = $2 parity = \"none\" every = \"1s\" }"
        shift 2
        for address; do
            echo "probe \"p$address\" { bus = \"rack\" address = $address temperature = \"input 1 / 10\" humidity = \"input 2 / 10\" }"
        done
        echo 'enclosure "T1" { label = "First tub" warm_side { probe = "p11" temperature { day = "20..30 C" } } }'
    } > "$conf"
}

# run STATUS ARGUMENTS...: its output is in $work/run.out
run()
{
    run_status=$1
    shift
    "$daemon" -c "$conf" "$@" > "$work/run.out" 2>&1
    same "$run_status" $? "the status of $*"
}

# says SENTENCE: in one line of the last run
says()
{
    grep -qF -- "$1" "$work/run.out" || { cat "$work/run.out" && fail "'$1' is not said"; }
}

# ---- the bus -----------------------------------------------------------------------
part_bus()
{
    bus good 9600 11 12 --twice 14
    conf good 9600 11 12
    run 0 --read
    says "probe  temperature  humidity  age  where"
    says "p11    25.1 °C      48 %      0 s  First tub warm side"
    says "p12    25.2 °C      48 %      0 s  nowhere"
    conf good 9600 11 13 14
    run 1 --read
    says "    no answer at address 13; others on this bus answer, so it is the address, or this probe's own"
    says "    garbled answers at address 14, while others on this bus are clean: two probes have this address"
    grep -q "^p11 .*First tub" "$work/run.out" || fail "the good one is lost"
    conf good 19200 11 12
    run 1 --read
    same 2 "$(grep -c 'garbled answers at address 1[12]: it is another baud or parity than 19200 baud, parity none, A and B are swapped' "$work/run.out")" "probes at another baud"
    bus swapped 9600 11 --swapped
    conf swapped 9600 11
    run 1 --read
    says "A and B are swapped"
}

# ---- the port ----------------------------------------------------------------------
part_port()
{
    bus good 9600 11 12 --warm "$work/warm" 12
    conf none 9600 11
    run 1 --read
    says "bus \"rack\": $work/none: there is no such port; is its adapter plugged in?"
    sed -i 's,port = "[^"]*",port = "usb:1209:ffff",' "$conf"
    run 1 --read
    says 'usb:1209:ffff: no port with this USB identity is here; is it plugged in?'
    conf good 9600 11 12
    start other "$daemon" -c "$conf" --read --watch
    other_pid=$started_pid
    wait_until 10 grep -q "^p12" "$work/other.out" || fail "--watch says nothing"
    run 1 --read
    says "held by "
    says "warmsided (process $other_pid)"
    # What changes is a line; Ctrl-C is an end like any other.
    : > "$work/warm"
    wait_until 10 grep -q '^p12 (nowhere), .* since it was first seen, rising most$' "$work/other.out" ||
        fail "who rises is not said"
    same 1 "$(grep -c '^p11' "$work/other.out")" "lines about a probe that does not change"
    stop "$other_pid" INT
    same 0 "$stop_status" "the status of --watch after SIGINT"

    as_nobody="setpriv --reuid 65534 --regid 65534 --clear-groups"
    if [ "$(id -u)" = 0 ] && command -v setpriv > /dev/null && $as_nobody test -x "$daemon"; then
        device=$(readlink "$work/good")
        chmod 660 "$device"
        chmod 755 "$work"
        sed '/^state/d' "$conf" > "$work/nostate.conf"
        $as_nobody "$daemon" -c "$work/nostate.conf" --read > "$work/run.out" 2>&1
        says "may not open it: run \`usermod -aG $(stat -c %G "$device") "
        says "then log out and in again"
        # A folder that is another's.
        mkdir -m 700 "$work/state-theirs"
        sed "s,^state.*,state = \"$work/state-theirs/here\"," "$conf" > "$work/theirs.conf"
        $as_nobody "$daemon" -c "$work/theirs.conf" > "$work/run.out" 2>&1
        same 1 $? "the status without permission on the state folder"
        says "no permission for"
        says "let root run \"install -d -o "
        # A secret that is another's.
        (umask 077 && echo https://hook.example/ > "$work/phone.url")
        { cat "$conf" && echo 'webhook "phone" { endpoint = "@phone.url" }'; } > "$work/secret.conf"
        $as_nobody "$daemon" -c "$work/secret.conf" --check > "$work/run.out" 2>&1
        says "phone.url cannot be read: Permission denied; let its owner give it to whoever runs warmsided"
        # It is not needed for looking at probes.
        sed -i '/^state/d' "$work/secret.conf"
        chmod 666 "$device"
        $as_nobody "$daemon" -c "$work/secret.conf" --read > "$work/run.out" 2>&1
        same 0 $? "the status of --read without permission on a secret"
        says "p11    25.1 °C"
    else
        echo "unchecked: permissions (needs root, setpriv, and a reachable build)"
    fi
}

# ---- the configuration --------------------------------------------------------------
part_configuration()
{
    conf=$work/nothing.conf
    run 1
    says "cannot be read: No such file"
    says "warmsided -c $conf --draft\" writes one"
    conf slips 9600 11
    echo 'species "corn snake" { cool_side { temperature { day = "22..26 C" } } }
    enclosure "T2" { species = "corn snak" warm_side { probe = "p11" } }
    enclosure "T3" { species = "hognose" warm_side { proeb = "p11" } }' >> "$conf"
    run 1 --check
    says "$conf:6: enclosure \"T2\": species = \"corn snak\" names no species; did you mean \"corn snake\"?"
    says "$conf:7: enclosure \"T3\": species = \"hognose\" names no species; \"warmside species\" lists"
    says "$conf:7: proeb is not known"
    says "did you mean probe?"
    sed -i '/^species/d' "$conf"
    run 1 --check
    says 'names no species, and none is known: include("species.conf") takes in the shipped ones'
    conf one 9600 11
    run 0 --check
    says "is in order: 1 enclosure, 1 probe on 1 bus"
    : > "$work/state-one"
    run 1
    says "$work/state-one: a file is where a folder must be"
    sed -i "s,^state.*,state = \"$work/deep/er\"," "$conf"
    run 1
    says "the folder it is to lie in does not exist"
    sed -i '/^state/d' "$conf"
    run 1
    says 'the configuration names no state folder; state = "/var/lib/warmside" would'
}

# ---- the watch ------------------------------------------------------------------------
part_watch()
{
    bus good 9600 11 12
    start_hook 404,404,404,404
    conf good 9600 11 12 13
    printf 'webhook "phone" { endpoint = "%s" }\nwebhook "mail" { endpoint = "http://no-such-host.invalid/" }\n' \
        "$hook_url" >> "$conf"
    echo "time,probe,temperature,humidity" > "$work/empty.csv"
    echo "1767225600,p11,25,50" >> "$work/empty.csv"
    run 0 --replay "$work/empty.csv"
    cautions()
    {
        grep -c "not a thermostat" "$work/daemon.err"
    }
    start_daemon()
    {
        start daemon "$daemon" -c "$conf"
        daemon_pid=$started_pid
        wait_until 10 grep -q "^watching 1 enclosure on 1 bus" "$work/daemon.err" || fail "no watch"
    }
    start_daemon
    same 1 "$(cautions)" "cautions at the first start, after a replay"
    for caution in "switches nothing" "thermostat and an independent cut-off" "local codes and a licensed electrician" \
        "exotics veterinarian"; do
        grep -q "$caution" "$work/daemon.err" || fail "no caution: $caution"
    done
    run 1
    says "a warmsided runs already on $work/state-good; stop that first"
    trouble()
    {
        grep -q '"trouble":"no answer at address 13; others' "$work/state-good/now.json" 2> /dev/null
    }
    wait_until 10 trouble || fail "now.json does not explain the silent probe"
    "$report" -c "$conf" now > "$work/run.out" || fail "warmside now"
    says "Probe p13: no answer at address 13; others on this bus answer"
    run 1 --read
    says "The daemon holds the ports; its readings of "
    says "    no answer at address 13; others on this bus answer"
    echo 'probe "p15" { bus = "rack" address = 15 temperature = "input 1 / 10" }' >> "$conf"
    run 1 --read
    says "the daemon does not know it: it began before the configuration named it"
    sed -i '$d' "$conf"

    # Refused for good, and no network: who, why, and without waiting for the first.
    start test "$daemon" -c "$conf" --test-alert
    test_pid=$started_pid
    wait_until 10 grep -q 'webhook "mail" has not taken it yet: its host.s name is not found: see whether the address is right, and this computer on the network' \
        "$work/test.out" || fail "no word of an unknown host"
    stop "$test_pid"
    grep -q 'webhook "mail": its host.s name is not found' "$work/daemon.err" || fail "nor in the log"
    sed -i '/^webhook "mail"/d' "$conf"
    run 1 --test-alert # would last 60 s
    says 'webhook "phone" refuses the test: HTTP status 404, nothing is at this address'
    kill -s KILL "$daemon_pid"
    wait_until 10 gone "$daemon_pid"
    start_daemon
    same 0 "$(cautions)" "cautions at the second start"
    kill -s KILL "$daemon_pid" # in an orderly end it would try the webhook for 5 s more
    wait_until 10 gone "$daemon_pid"
}

# ---- in place ---------------------------------------------------------------------------
part_in_place()
{
    bus good 9600 11 12 --warm "$work/warm" 12
    conf good 9600 11 12
    : > "$work/warm"
    sizes="5x40"
    [ -z "${LONG:-}" ] || sizes="24x80 24x40 4x80 5x40"
    for size in $sizes; do
        python3 "$top_srcdir/tests/reference/watchterm.py" "${size%x*}" "${size#*x}" "$daemon" -c "$conf" \
            --read --watch || fail "--watch on a terminal of $size"
    done
}
part_given_up()
{
    WATCHTERM_KEY=1c # Ctrl and backslash
    export WATCHTERM_KEY
    part_in_place
}

"part_$1"
