#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The daemon as a service: what it tells its manager and when, and what contrib/ has for
# systemd: units without a complaint and with next to no rights, their user and folders.
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

# ---- the units -----------------------------------------------------------------------
units=$top_builddir/contrib/systemd
grep -qE '@[a-z]+@' "$units"/*.service && fail "something is not substituted"
command -v systemd-analyze > /dev/null || { echo "unchecked: the units (no systemd-analyze)" && exit 0; }
built=$(cd "$top_builddir" && pwd)
for unit in warmsided warmside-morning warmside-drying; do
    # Of a program that is not installed yet systemd would say so.
    sed "s,^ExecStart=/[^ ]*/,ExecStart=$built/," "$units/$unit.service" > "$work/$unit.service"
    [ ! -f "$contrib/$unit.timer" ] || cp "$contrib/$unit.timer" "$work"
done
for unit in "$work"/*.service "$work"/*.timer; do
    systemd-analyze verify --man=no "$unit" > "$work/verify.out" 2>&1 || fail "systemd objects to $unit"
    [ ! -s "$work/verify.out" ] || fail "systemd has something to say of $unit"
done
# Their exposure is at most 1.5 of 10 by systemd's own reckoning.
for unit in "$work"/*.service; do
    systemd-analyze security --offline=true --threshold=15 "$unit" > "$work/security.out" 2>&1 ||
        fail "$unit has more rights than it needs"
    sed -n "s/.*Overall exposure level for/exposure of/p" "$work/security.out"
done
if command -v systemd-sysusers > /dev/null; then
    systemd-sysusers --dry-run --root="$work" "$contrib/sysusers/warmside.conf" \
        > "$work/users.out" 2>&1 || fail "the user cannot be made"
    grep -qi warmside "$work/users.out" || fail "no user is made"
fi
if command -v systemd-tmpfiles > /dev/null && [ "$(id -u)" = 0 ]; then
    # In a root of its own, which knows the user by another number than this system may.
    mkdir -p "$work/root/etc" "$work/root$(dirname "$(sed -n 's,^d  *\([^ ]*\)/secrets .*,\1,p' \
        "$units/tmpfiles/warmside.conf")")"
    printf 'root:x:0:0::/:\nwarmside:x:4711:4711::/:\n' > "$work/root/etc/passwd"
    printf 'root:x:0:\nwarmside:x:4711:\n' > "$work/root/etc/group"
    systemd-tmpfiles --create --root="$work/root" - < "$units/tmpfiles/warmside.conf" \
        > "$work/folders.out" 2>&1 || fail "the folders cannot be made"
    [ ! -s "$work/folders.out" ] || fail "systemd has something to say of the folders"
    same "2770 4711 4711" "$(stat -c '%a %u %g' "$work/root/var/lib/warmside/requests")" "requests/"
    same "750 4711 4711" "$(stat -c '%a %u %g' "$work/root/var/lib/warmside/archive")" "archive/"
    same "700 0 0" "$(find "$work/root" -name secrets -exec stat -c '%a %u %g' {} +)" "secrets/"
else
    echo "unchecked: the folders (not root, or no systemd-tmpfiles)"
fi

# ---- the copy that contrib/ advises -----------------------------------------------------
# told FILE OPTIONS: the line of tar in it, for a root and a place of ours.
told()
{
    grep -o "tar -C / -$2 SOMEWHERE[^&]*" "$1" | sed "s,-C /,-C $work/computer,; s,SOMEWHERE,$work,"
}
for document in README.md debian/README.Debian; do
    document=$top_srcdir/contrib/$document
    for folder in $(grep -o 'tar -C / -cf [^ ]* .*' "$document" | cut -d ' ' -f 6-); do
        mkdir -p "$work/computer/$folder/within"
        echo "$folder" > "$work/computer/$folder/within/file"
    done
    same 2 "$(find "$work/computer" -type f | wc -l)" "folders to be copied"
    cp -a "$work/computer" "$work/before"
    sh -c "$(told "$document" cf)" || fail "the copy that $document advises cannot be made"
    rm -r "$work/computer"
    mkdir "$work/computer"
    sh -c "$(told "$document" xpf)" || fail "it cannot be put back"
    diff -r "$work/before" "$work/computer" || fail "it is not what it was"
    rm -r "$work/before" "$work/computer"
done
