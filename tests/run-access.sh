#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# Who may what: what the watch keeps is read by its group and by nobody beyond, which may
# leave requests and no more; the service reads a secret of root's that it was handed; and
# nothing is listened at.  Needs root, to be three other users.
. "${top_srcdir:-.}/tests/lib.sh"
plain_only
[ "$(id -u)" = 0 ] || skip "only root can be other users"
need setpriv unshare
watch=64711 member=64712 stranger=64713 # user ids that nobody has; the group is the watch's

# as USER COMMAND...: the member is in the group besides its own.
as()
{
    as_user=$1
    shift
    as_groups=--clear-groups
    [ "$as_user" != $member ] || as_groups=--groups=$watch
    setpriv --reuid="$as_user" --regid="$as_user" $as_groups --no-new-privs \
        --inh-caps=-all --bounding-set=-all "$@"
}

# Below a folder that everybody may enter: where this is built they may not.
chmod 755 "$work"
mkdir "$work/bin" "$work/conf" "$work/handed"
cp "$daemon" "$report" "$work/bin"
daemon=$work/bin/warmsided report=$work/bin/warmside
install -d -o $watch -g $watch -m 755 "$work/home"
state=$work/home/state
cat > "$work/conf/room.conf" << CONF
state = "$state"
archive { minutes = "1d"  ten_minutes = "2d"  hours = "3d" }
bus "board" { port = "$work/none"  speaks = "lines"  line = "{temperature}"  every = "10s" }
probe "a" { bus = "board" }
enclosure "T3" { warm_side { probe = "a"  temperature { day = "27..31 C" } } }
webhook "phone" { endpoint = "@secrets/phone.url" }
CONF
conf=$work/conf/room.conf

# ---- a secret of root's ---------------------------------------------------------------
mkdir -m 700 "$work/conf/secrets"
(umask 077 && echo "http://hook.example/" > "$work/conf/secrets/phone.url")
as $watch "$daemon" -c "$conf" --check > "$work/check.out" && fail "the secret is not root's"
grep -q 'secrets/phone.url cannot be read: Permission denied' "$work/check.out" ||
    fail "that it is not to be read is not said"
# As systemd.exec(5) hands over a file of a folder: LoadCredential=secrets:FOLDER
install -o $watch -g $watch -m 400 "$work/conf/secrets/phone.url" "$work/handed/secrets_phone.url"
CREDENTIALS_DIRECTORY=$work/handed as $watch "$daemon" -c "$conf" --check > "$work/check.out" ||
    fail "a secret that is handed over is not found"
# Lying readable beside the configuration but also unreadable is the difference that counts:
# a name that is in both places is taken from where it can be read.
(umask 077 && echo "http://hook.example/" > "$work/conf/phone.url")
sed 's,@secrets/,@,' "$conf" > "$work/conf/plain.conf"
cp -p "$work/handed/secrets_phone.url" "$work/handed/phone.url"
CREDENTIALS_DIRECTORY=$work/handed as $watch "$daemon" -c "$work/conf/plain.conf" --check \
    > "$work/check.out" || fail "one that root keeps beside the configuration is in the way"

# ---- what is kept -----------------------------------------------------------------------
# The widest umask there is in practice: what the watch makes is closed all the same.
umask 022
begin=$(($(date +%s) / 60 * 60 - 7200))
{
    echo "time,probe,temperature,humidity"
    for n in $(seq 0 300); do
        echo "$((begin + n * 20)),a,20.0,"
    done
} > "$work/recording.csv"
CREDENTIALS_DIRECTORY=$work/handed as $watch "$daemon" -c "$conf" --replay "$work/recording.csv" \
    > "$work/replay.out" 2> "$work/replay.err" || fail "the replay"
# In a network of its own, whose sockets are its sockets.
CREDENTIALS_DIRECTORY=$work/handed
export CREDENTIALS_DIRECTORY
start daemon unshare --net setpriv --reuid=$watch --regid=$watch --clear-groups --bounding-set=-all \
    "$daemon" -c "$conf"
daemon_pid=$started_pid
unset CREDENTIALS_DIRECTORY
wait_until 20 test -s "$state/now.json" || fail "no watch"

# mode MODE FILE...
mode()
{
    mode_wanted=$1
    shift
    for mode_file; do
        same "$mode_wanted $watch $watch" "$(stat -c '%a %u %g' "$mode_file")" "$mode_file"
    done
}
mode 750 "$state" "$state/archive"
mode 770 "$state/requests"
mode 700 "$state/outbox"
mode 640 "$state/archive/T3.rrd" "$state/alerts.jsonl" "$state/bands.jsonl" "$state/lock" \
    "$state/now.json" "$state/standing.json"

as $member "$report" -c "$conf" now > "$work/now.out" 2>&1 || fail "a member is not told"
as $member "$report" -c "$conf" totals --from -3h > "$work/totals.out" 2>&1 || fail "no totals for a member"
as $member "$report" -c "$conf" shelve T3 90min > "$work/shelve.out" 2>&1 || fail "a member cannot shelve"
grep -q 'T3: shelved until' "$work/shelve.out" || fail "the watch does not take the request"
as $member "$report" -c "$conf" ack > "$work/ack.out" 2>&1 || fail "a member cannot acknowledge"
as $member sh -c ": >> '$state/alerts.jsonl'" 2> "$work/denied.out" && fail "a member writes the log"
as $member ls "$state/outbox" > "$work/denied.out" 2>&1 && fail "a member sees what waits to be sent"
for command in now totals "ack" "shelve T3 1h"; do
    # shellcheck disable=SC2086
    as $stranger "$report" -c "$conf" $command > "$work/denied.out" 2>&1 && fail "a stranger may: $command"
    grep -q "cannot be read: Permission denied" "$work/denied.out" || fail "a stranger is not told why"
done

# ---- no listening socket -----------------------------------------------------------------
net=/proc/$daemon_pid/net
for kind in tcp tcp6 udp udp6 raw raw6; do
    [ ! -e "$net/$kind" ] || cat "$net/$kind"
done > "$work/network.out"
grep -q local_address "$work/network.out" || fail "its sockets are not seen"
# Listening, or bound and waiting for whoever sends; what it connects to itself is neither.
same "" "$(awk '$4 == "0A" || $4 == "07"' "$work/network.out")" "sockets that others can reach"
same "" "$(awk '$4 == "00010000"' "$net/unix")" "sockets of its own that it listens at"
stop "$daemon_pid"
same 0 "$stop_status" "exit status"
