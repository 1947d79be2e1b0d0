#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# What a process is given runs out or is taken away: its standard streams closed, nobody
# taking its log, no file descriptor left, no memory left.  The watch goes on, or begins
# again knowing what stands; alerts go out, and when it is over nothing is missing.
. "${top_srcdir:-.}/tests/lib.sh"
need socat python3 prlimit
start_hook
start_two_tubs "$work/state"
: > "$work/daemon.err"

# in_agreement WHAT: ends the daemon, then log, outbox and webhook hold the same; the next begins
# with nothing.
in_agreement()
{
    wait_until 60 outbox_is_empty || fail "$1: the outbox is not emptied"
    stop "$daemon_pid"
    same 0 "$stop_status" "$1: the exit status"
    python3 "$top_srcdir/tests/reference/alertkill.py" "$state" "$hook_log" "$work/daemon.err" ||
        fail "$1: see above"
    rm -r "$state" # or what comes and goes so often chatters
    : > "$hook_log"
}
# once_around WHAT: an animal overheats and cools down, and both are told.
once_around()
{
    hear_from "$(wc -l < "$hook_log")"
    degrees 39.0 30.0
    wait_until 30 told "T3 warm side dangerously hot" || fail "$1: an alert is kept back"
    degrees 30.0 30.0
    wait_until 30 told "T3 warm side back in its band" || fail "$1: its end is kept back"
}

# ---- started with closed standard streams -------------------------------------------
start closed sh -c "exec '$daemon' -c '$work/room.conf' <&- >&- 2>&-"
daemon_pid=$started_pid
wait_until 30 grep -qs '"value":3' "$state/now.json" || fail "no readings with closed streams"
for stream in 0 1 2; do
    same /dev/null "$(readlink "/proc/$daemon_pid/fd/$stream")" "what stream $stream is"
done
once_around "closed streams"
in_agreement "closed streams"
"$report" -c "$work/room.conf" totals >&- 2> "$work/report.err"
same 1 $? "the exit status of a report that nobody can read"

# ---- nobody takes its log: a pipe that is full ----------------------------------------
mkfifo "$work/log"
# Held open, and never read until the end.
exec 3<> "$work/log"
python3 -c "
import fcntl, os
fd = os.open('$work/log', os.O_WRONLY | os.O_NONBLOCK)
fcntl.fcntl(fd, fcntl.F_SETPIPE_SZ, 4096)
os.write(fd, b'full\n\n\n\n' * 512)"
start full sh -c "exec '$daemon' -c '$work/room.conf' 2> '$work/log'"
daemon_pid=$started_pid
hear_from "$(wc -l < "$hook_log")"
wait_until 30 grep -qs "\"pid\":$daemon_pid," "$state/now.json" || fail "a full pipe holds up the start"
once_around "a full pipe"
start reader cat "$work/log"
once_around "a full pipe, read again"
wait_until 10 grep -q "missing lines of this log here: " "$work/reader.out" ||
    fail "it is not said how many lines are missing"
in_agreement "a full pipe"
exec 3>&-

# ---- no file descriptor left -----------------------------------------------------------
# As a leak would have it: those that are open stay open, and there is no further one.
start_tubs_daemon
none_left()
{
    prlimit --pid "$daemon_pid" --nofile=3:
}
children()
{
    cat "/proc/$daemon_pid/task/$daemon_pid/children"
}
none_left || fail "no limit can be set"
degrees 39.0 30.0
wait_until 30 told "T3 warm side dangerously hot" || fail "without descriptors an alert is kept back"
grep -q "Too many open files" "$work/daemon.err" || fail "there are descriptors left"
# The children cannot be started again: that is all that can be taken from the watch.
# shellcheck disable=SC2046
kill -KILL $(children)
degrees 30.0 38.0
is_hot()
{
    grep -q "for webhook \"phone\": T4 warm side dangerously hot" "$work/daemon.err"
}
wait_until 30 is_hot || fail "without descriptors the watch does not go on"
sleep 5 # for two more tries
same 1 "$(grep -c "the courier cannot be started" "$work/daemon.err")" "how often it is said"
prlimit --pid "$daemon_pid" --nofile=1024:
wait_until 60 told "T4 warm side dangerously hot" || fail "with descriptors again an alert is missing"
degrees 30.0 30.0
wait_until 30 told "T4 warm side back in its band" || fail "with descriptors again an end is missing"
in_agreement "no descriptors"

# ---- no memory left -----------------------------------------------------------------------
# Whoever started it starts it again; it knows what stands.
if ! grep -q __asan_init "$daemon"; then # whose shadow is larger than any limit
    start_tubs_daemon
    degrees 39.0 30.0
    wait_until 30 told "T3 warm side dangerously hot" || fail "no alert before memory ends"
    prlimit --pid "$daemon_pid" --as=1048576:
    # Where what it has would do for long, a long configuration asks for more.
    python3 -c "print('# ' + 79 * '-' + '\n' + 6000 * ('#' + 79 * ' ' + '\n'))" >> "$work/room.conf"
    kill -HUP "$daemon_pid"
    wait_until 30 gone "$daemon_pid" || fail "there is memory left"
    grep -q "out of memory" "$work/daemon.err" || fail "nothing is said of the memory"
    start_tubs_daemon
    degrees 30.0 30.0
    wait_until 30 told "T3 warm side back in its band" || fail "no end after memory has ended"
    in_agreement "no memory"
fi
