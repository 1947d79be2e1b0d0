#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# warmsided --scan on pseudo-terminals, with libmodbus at the far end: what is
# printed for each kind of probe, that nothing but reading is ever asked, who
# is refused, and that the lines printed are a configuration.  A whole scan
# takes minutes and is left to LONG=1; here it is ended by a signal, as by
# Ctrl-C, as soon as the first addresses are known.
. "${top_srcdir:-.}/tests/lib.sh"
partner=$top_builddir/tests/partner_probes
[ -x "$partner" ] || skip "no libmodbus, so nobody is at the far end"
port=$work/port
log=$work/requests

# serve PROBE...: at the far end of $port.
serve()
{
    start probes "$partner" "$port" "$log" "$@"
    probes_pid=$started_pid
    wait_until 10 test -e "$port" || fail "partner_probes does not serve"
}

# scan_until PATTERN ARGUMENTS...: until the pattern is printed, then Ctrl-C.
scan_until()
{
    scan_pattern=$1
    shift
    start scan "$daemon" "$@"
    scan_pid=$started_pid
    wait_until 60 grep -qs -- "$scan_pattern" "$work/scan.out" "$work/scan.err" ||
        fail "'$scan_pattern' is not printed"
    stop "$scan_pid" INT
}

# prints PATTERN [out|err]
prints()
{
    grep -qE -- "$1" "$work/scan.${2:-out}" || fail "'$1' is not printed"
}

# refused PATTERN ARGUMENTS...: exit status 1 at once, and that sentence.
refused()
{
    refused_pattern=$1
    shift
    "$daemon" "$@" > "$work/scan.out" 2> "$work/scan.err"
    same 1 $? "status of $*"
    prints "$refused_pattern" err
}

only_reads()
{
    [ -s "$log" ] || fail "nothing was asked"
    # BAUD, then address, function, first register, count, checksum.
    grep -vE '^[0-9]+ [0-9a-f]{2}0[34][0-9a-f]{12}$' "$log" && fail "something else is asked"
    grep -E '^[0-9]+ (00|f[89a-f])' "$log" && fail "an address that is none is asked"
}

# ---- a bus of a configuration -------------------------------------------------
cat > "$work/room.conf" << END
state = "$work/state"
bus "rack" { port = "$port"  speaks = "modbus" }
bus "quiet" { port = "$work/quiet"  speaks = "lines"  line = "{temperature}"  every = "1s" }
probe "sill" { bus = "rack"  address = 1  temperature = "input 1 / 10"  humidity = "input 2 / 10" }
END
serve 1@9600:4:1:231,552 2@9600:3:0:552,231 3@9600:4:1:251,305 4@9600:4:0:2215,5512 \
    5@9600:4:40:1,2 6@9600:4:1:231,552:garbled 7@9600:4:1:-105,990 8@9600:4:1:240 \
    9@9600:4:1:238,601:late 11@9600:4:0:231,552 1@4800:4:1:231,552
scan_until 'address = 11 ' -c "$work/room.conf" --scan rack
same 0 "$stop_status" "status of a scan that found somebody"
prints '^# At 9600 baud, parity none:$'
prints '^# "sill", which the configuration has, answers at address 1: 23.1 °C, 55 %$'
prints '^probe "rack 2" .*address = 2  temperature = "holding 1 / 10"  humidity = "holding 0 / 10" }  # 23.1 °C, 55 %$'
prints '^probe "rack 3" .*"input 1 / 10"  humidity = "input 2 / 10" }  # 25.1 °C, 31 %$'
prints '^#   or it has  temperature = "input 2 / 10"  humidity = "input 1 / 10": 30.5 °C, 25 %$'
prints '^probe "rack 4" .*"input 0 / 100"  humidity = "input 1 / 100"'
prints '^# Somebody is at address 5 and answers, but no usual register'
prints '^# Something answers at address 6, but garbled.  Two probes with one address\?'
prints '^probe "rack 7" .*# -10.5 °C, 99 %; unlikely in a home'
prints '^probe "rack 8" .*temperature = "input 1 / 10" }  # 24.0 °C$'
prints '^probe "rack 9" .*# 23.8 °C, 60 %; it answers late$'
grep -q 'address = 10 ' "$work/scan.out" && fail "a late answer is taken for the next address"
prints '^Ended before all was asked.$' err
prints '^Found: 9.$' err
prints '^9600 baud, parity none: asking addresses 1 to 247 by function 04$' err
only_reads

# What is printed is a configuration.
{
    echo "bus \"rack\" { port = \"$port\"  speaks = \"modbus\" }"
    cat "$work/scan.out"
} > "$work/pasted.conf"
"$daemon" -c "$work/pasted.conf" --check > "$work/check.out" || fail "what is printed has faults"
grep -qE ', 7 probes on 1 bus(es)?$' "$work/check.out" || fail "probes are missing from it"

# ---- who is refused -----------------------------------------------------------
refused "no bus \"rak\"; it has \"rack\", \"quiet\"; a port can be given as well" \
    -c "$work/room.conf" --scan rak
refused 'there is no such port; is its adapter plugged in' --scan "$work/none"
refused 'no port with this USB identity is here' --scan usb:1209:fffe
refused "room.conf2: " -c "$work/room.conf2" --scan rack
refused 'bus "quiet": .*there is no such port' -c "$work/room.conf" --scan quiet
"$daemon" --scan > "$work/scan.out" 2>&1
same 2 $? "status without a bus"

# The watch runs: it is not disturbed, whether its bus is named or its port.
start watch "$daemon" -c "$work/room.conf"
watch_pid=$started_pid
wait_until 20 grep -qs '"read":[1-9]\|"time"' "$work/state/now.json" || fail "the watch does not read"
cp "$log" "$work/before"
refused 'is held by .*\(process [0-9]+\); end that first: a service by .*Nobody watches meanwhile' \
    -c "$work/room.conf" --scan rack
refused 'is held by .*\(process [0-9]+\); end that first' --scan "$port"
prints "process $watch_pid\\)" err
# A bus the watch does not have is not refused on its account.
sed "s|$port|$work/none|" "$work/room.conf" > "$work/other.conf"
refused 'bus "rack": .*there is no such port' -c "$work/other.conf" --scan rack
tail -n +$(($(wc -l < "$work/before") + 1)) "$log" | grep -v ' 010400010002' &&
    fail "the watch is disturbed"
stop "$watch_pid"

# ---- a board that prints lines ------------------------------------------------
stop "$probes_pid"
pty_pair "$work/board" "$work/far"
(while echo "w1,23.1,45.2" && echo "w 2,74.5,38.0"; do sleep 0.3; done) > "$work/far" 2> /dev/null &
talk_pid=$!
started="$started $talk_pid"
"$daemon" --scan "$work/board" > "$work/scan.out" 2> "$work/scan.err"
same 0 $? "status with a board"
prints 'line = "\{probe\},\{temperature\},\{humidity\}"  every = "1s" }'
prints 'if the board prints °F, write \{temperature_f\}'
prints '^probe "board w1" .*address = "w1" }  # 23.1 °C, 45 %$'
prints '^probe "board w 2" .*address = "w 2" }  # 74.5 °C, 38 %$'
"$daemon" -c "$work/scan.out" --check > "$work/check.out" || fail "the board's lines have faults"
grep -qE ', 2 probes on 1 bus(es)?$' "$work/check.out" || fail "probes are missing from them"
cat > "$work/lines.conf" << END
bus "b" { port = "$work/board"  speaks = "lines"  line = "{temperature}"  every = "1s" }
probe "x" { bus = "b" }
END
"$daemon" -c "$work/lines.conf" --scan b > "$work/scan.out" 2> "$work/scan.err"
same 0 $? "status with the bus of a board"
prints 'bus "b" .*\{probe\},\{temperature\},\{humidity\}'
kill "$talk_pid" 2> /dev/null

# ---- all of it ----------------------------------------------------------------
[ -n "${LONG:-}" ] || exit 0
serve 1@19200:4:1:231,552 247@19200:3:0:552,231 100@9600:4:0:231,552
"$daemon" --scan "$port" > "$work/scan.out" 2> "$work/scan.err"
same 0 $? "status of a whole scan"
same 3 "$(grep -c '^probe ' "$work/scan.out")" "probes of a whole scan"
prints '^A bus has one baud and one parity' err
only_reads
same 7 "$(sed 's/ .*//' "$log" | sort -u | wc -l)" "bauds of a whole scan"
