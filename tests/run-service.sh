#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The daemon as a service: what it tells its manager and when, and what contrib/ has for
# systemd: a unit without a complaint and with next to no rights, and its user.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
contrib=$top_srcdir/contrib/systemd

# ---- what the manager is told -------------------------------------------------------
cat > "$work/room.conf" << CONF
state = "$work/state"
archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }
bus "board" { port = "$work/none"  speaks = "lines"  line = "{temperature}"  every = "1s" }
probe "a" { bus = "board" }
enclosure "T3" { warm_side { probe = "a"  temperature { day = "27..31 C" } } }
CONF
start manager python3 "$top_srcdir/tests/reference/notified.py" "$work/socket"
told=$work/manager.out
wait_until 10 grep -q listening "$told" || fail "nobody listens"

NOTIFY_SOCKET=$work/socket
export NOTIFY_SOCKET
start daemon "$daemon" -c "$work/room.conf"
daemon_pid=$started_pid
unset NOTIFY_SOCKET

told_times()
{
    [ "$(grep -cx "$1" "$told")" -ge "$2" ]
}
if wait_until 20 told_times READY=1 1; then
    wait_until 10 told_times WATCHDOG=1 2 || fail "the loop does not say that it turns"
    kill -s HUP "$daemon_pid"
    wait_until 10 told_times READY=1 2 || fail "a reload is not told as over"
    [ "$(grep -xn RELOADING=1 "$told" | cut -d: -f1)" -lt \
        "$(grep -xn READY=1 "$told" | sed -n 2p | cut -d: -f1)" ] || fail "not told as begun"
    stop "$daemon_pid"
    wait_until 10 told_times STOPPING=1 1 || fail "the end is not told"
    same 0 "$stop_status" "exit status"
else
    grep -q '#define HAVE_SYSTEMD' "$top_builddir/config.h" && fail "the start is not told"
    echo "unchecked: what the manager is told (built without libsystemd)"
fi

# ---- the unit ------------------------------------------------------------------------
command -v systemd-analyze > /dev/null || { echo "unchecked: the unit (no systemd-analyze)" && exit 0; }
built=$(cd "$top_builddir" && pwd)/warmsided
sed "s,/usr/local/sbin/warmsided,$built," "$contrib/warmsided.service" > "$work/warmsided.service"
systemd-analyze verify --man=no "$work/warmsided.service" > "$work/verify.out" 2>&1 ||
    fail "systemd objects"
[ ! -s "$work/verify.out" ] || fail "systemd has something to say"
# Its exposure is at most 1.5 of 10 by systemd's own reckoning.
systemd-analyze security --offline=true --threshold=15 "$work/warmsided.service" \
    > "$work/security.out" 2>&1 || fail "the unit has more rights than it needs"
sed -n 's/.*Overall exposure level/exposure/p' "$work/security.out"
if command -v systemd-sysusers > /dev/null; then
    systemd-sysusers --dry-run --root="$work" "$contrib/warmside.sysusers" > "$work/users.out" 2>&1 ||
        fail "the user cannot be made"
    grep -qi warmside "$work/users.out" || fail "no user is made"
fi
