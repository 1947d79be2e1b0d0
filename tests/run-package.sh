#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The Debian package in a clean Debian: it is built and looked over by lintian, installed
# under a real systemd, watches a simulated room as a service that is handed its secret,
# answers members of its group and nobody else, listens at nothing, comes back when it
# hangs, and is purged until nothing of it is left.  Only by `make long` (or LONG=1), as
# root, with debootstrap and the network: some minutes.
. "${top_srcdir:-.}/tests/lib.sh"
[ -n "${LONG:-}" ] || skip "it takes minutes; make long runs it"
[ "$(id -u)" = 0 ] || skip "only root can make a clean Debian"
need apt-get debootstrap dpkg-buildpackage lintian nsenter pgrep unshare
grep -q __asan_init "$daemon" && skip "a package is built without sanitizers"
groups=$(findmnt -t cgroup2 -n -o TARGET | head -n 1)
[ -n "$groups" ] || skip "no control groups, which systemd needs"
top=$(cd "$top_srcdir" && pwd)
root=$work/root
groups=$groups/warmside-package-$$
machine_pid=

end_machine()
{
    if [ -n "$machine_pid" ]; then
        kill -s KILL "$machine_pid" 2> /dev/null
        wait "$machine_pid" 2> /dev/null
    fi
    # Its groups are free once its last process is gone.
    wait_until 10 sh -c "! [ -d '$groups' ] || find '$groups' -depth -type d -exec rmdir {} + 2> /dev/null"
    machine_pid=
}
trap 'end_machine; clean_up' EXIT

# within COMMAND...: in the machine, as its root.
within()
{
    nsenter -t "$init" -m -u -i -n -p -C -r -w \
        env -i PATH=/usr/sbin:/usr/bin:/sbin:/bin DEBIAN_FRONTEND=noninteractive LC_ALL=C.UTF-8 "$@"
}

# as USER COMMAND...
as()
{
    as_user=$1
    shift
    within runuser -u "$as_user" -- "$@"
}

# good WHAT COMMAND...: must succeed; what it says is kept.
good()
{
    good_what=$1
    shift
    "$@" > "$work/said.out" 2>&1 || fail "$good_what"
}

# bad WHAT COMMAND...: must not succeed.
bad()
{
    bad_what=$1
    shift
    "$@" > "$work/said.out" 2>&1 && fail "$bad_what"
    return 0
}

property()
{
    within systemctl show -p "$1" --value warmsided
}

# ---- the package, and a clean Debian --------------------------------------------------
echo "building the package"
sh "$top/contrib/package.sh" "$work/package" > "$work/package.out" 2>&1 || fail "no package"
tail -n 2 "$work/package.out"
deb=$(ls "$work"/package/warmside_*.deb)

# From where this system has its own packages, and of the same release.
apt-get indextargets --format '$(ORIGIN) $(REPO_URI) $(CODENAME) $(COMPONENT)' \
    'Created-By: Packages' | sed -n 's/^Debian \(.* main\)$/deb \1/p' | sort -u > "$work/sources"
read -r _ mirror release _ << END
$(grep -vE ' [a-z]+-[a-z]+ ' "$work/sources" | head -n 1)
END
[ -n "$release" ] || skip "this system has no Debian to take packages from"
echo "unpacking a clean $release"
debootstrap --variant=minbase "$release" "$root" "$mirror" > "$work/debootstrap.out" 2>&1 ||
    skip "no clean Debian can be fetched: $(tail -n 1 "$work/debootstrap.out")"
cp "$work/sources" "$root/etc/apt/sources.list"
cp /etc/resolv.conf "$root/etc/resolv.conf"
depends="$(dpkg-deb -f "$deb" Depends), $(dpkg-deb -f "$deb" Recommends)"
# Starts nothing: no machine runs yet.
unshare --mount --pid --fork --kill-child sh -c 'mount -t proc proc "$1/proc" &&
    chroot "$1" sh -c "apt-get -qq update && DEBIAN_FRONTEND=noninteractive apt-get -qq -y \
        --no-install-recommends satisfy \"\$1\"" sh "$2"' sh "$root" "$depends" \
    > "$work/depends.out" 2>&1 || fail "what the package needs is not to be had"
[ -x "$root/lib/systemd/systemd" ] || fail "the package does not bring systemd"
mkdir "$root/try"
cp "$deb" "$roomsim" "$partner_hook" "$root/try"
deb=/try/$(basename "$deb")

mkdir "$groups" || skip "no control group can be made"
start machine sh -c 'echo $$ > "$1/cgroup.procs" && exec unshare --mount --uts --ipc --net \
    --cgroup --pid --fork --kill-child sh "$2" "$3"' sh "$groups" \
    "$top/tests/reference/machine.sh" "$root"
machine_pid=$started_pid
has_init()
{
    init=$(pgrep -P "$machine_pid" -x systemd)
}
wait_until 20 has_init || fail "no machine"
runs()
{
    within systemctl is-system-running 2> /dev/null | grep -qx running
}
wait_until 60 runs || fail "systemd does not run here"
echo "a machine runs, with $(within systemctl --version | head -n 1)"

# every_file: what is there, but for what is written all the time or by apt itself.
every_file()
{
    within find / -xdev \( -path /proc -o -path /sys -o -path /try -o -path /var/cache -o \
        -path /var/lib/apt -o -path /var/lib/dpkg -o -path /var/log -o -path /var/lib/systemd \
        -o -path /root -o -path /home \) -prune -o -print | sort
    within find /run /var/lib/systemd /var/lib/dpkg/info -name '*warmside*' | sort
}
within useradd keeper
within useradd stranger
every_file > "$work/before"

# ---- installed, and nothing to watch yet ----------------------------------------------
good "it cannot be installed" within apt-get -y install "$deb"
same 1 "$(within getent passwd warmside | grep -c nologin)" "the user"
good "no group" within getent group warmside
same enabled "$(within systemctl is-enabled warmsided)" "the watch at the start of the machine"
for timer in warmside-morning warmside-drying; do
    good "$timer.timer does not run" within systemctl is-active $timer.timer
done
same no "$(property ConditionResult)" "the watch of nothing"
bad "something is watched without a configuration" within systemctl is-active --quiet warmsided
bad "no configuration is in order" within warmsided
grep -q 'There is no configuration yet: "warmsided -c /etc/warmside/warmside.conf --draft" writes' \
    "$work/said.out" || fail "how to begin is not said"
example=$(grep -o '/[^ ]* is an example' "$work/said.out" | cut -d' ' -f1)
good "the example is not in order" within warmsided -c "$example" --check
same 700 "$(within stat -c %a /etc/warmside/secrets)" "the folder of secrets"

# ---- the room, the people, the first start -----------------------------------------------
within mkdir /run/room
start room within /try/roomsim serve --rack /run/room/rack --board /run/room/board --every 1
wait_until 20 within test -e /run/room/rack -a -e /run/room/board || fail "no simulated room"
for line in rack board; do
    good "no port" within sh -c "t=\$(readlink -f /run/room/$line); chgrp dialout \$t; chmod 660 \$t"
done
within usermod -aG warmside keeper
good "no draft" within warmsided -c /etc/warmside/warmside.conf --draft /run/room/board
good "the draft does not lead to the secrets" \
    within grep -q '^#	endpoint = "@secrets/phone.url"' /etc/warmside/warmside.conf
good "the draft is not in order" within warmsided --check
good "the draft cannot be watched" within systemctl start warmsided
good "the draft is not watched" within systemctl is-active warmsided
within systemctl stop warmsided

# Before the receiver listens: nobody may.
same "" "$(within sh -c 'cat /proc/net/tcp /proc/net/tcp6 /proc/net/udp /proc/net/udp6 \
    /proc/net/raw /proc/net/raw6' | grep -v local_address)" "sockets of a machine with nothing on it"
start hook within /try/partner_hook --log /run/room/hook --port-file /run/room/port
wait_until 20 within test -s /run/room/port || fail "no receiver"
within sh -c 'umask 077; echo "http://127.0.0.1:$(cat /run/room/port)/" > /etc/warmside/secrets/phone.url'
good "no configuration" within sh -c '/try/roomsim conf --rack /run/room/rack \
    --board /run/room/board --state /var/lib/warmside --every 1 --webhook @secrets/phone.url \
    > /etc/warmside/warmside.conf && warmsided --check'
good "it does not start" within systemctl start warmsided
grep -q . "$work/said.out" && fail "the start has something to say"
same warmside "$(within stat -c %U "/proc/$(property MainPID)")" "who watches"
within cat "/proc/$(property MainPID)/status" > "$work/status"
same 5 "$(grep -cE '^Cap(Inh|Prm|Eff|Bnd|Amb):	0+$' "$work/status")" "sets without a capability"
same "750 warmside:warmside" "$(within stat -c '%a %U:%G' /run/warmside)" "the runtime folder"
is_read()
{
    as keeper warmside now > "$work/now.out" 2> /dev/null && grep -q '°C  in band' "$work/now.out"
}
wait_until 30 is_read || fail "no reading"

# ---- who may what -------------------------------------------------------------------------
good "a test does not arrive" as keeper warmsided --test-alert
good "no test was received" within grep -q '"path"' /run/room/hook
good "a member cannot shelve" as keeper warmside shelve T3 90min
grep -q 'T3: shelved until' "$work/said.out" || fail "the watch has not taken the request"
good "who asked is not known" within grep -q '"event": *"shelved".*keeper' /var/lib/warmside/alerts.jsonl
good "a member cannot acknowledge" as keeper warmside ack
for file in alerts.jsonl bands.jsonl now.json standing.json; do
    good "a member cannot read $file" as keeper cat /var/lib/warmside/$file
    same 640 "$(within stat -L -c %a /var/lib/warmside/$file)" "$file"
done
bad "a member reads what waits to be sent" as keeper ls /var/lib/warmside/outbox
bad "a member reads the secrets" as keeper cat /etc/warmside/secrets/phone.url
bad "a member writes the log" as keeper sh -c ': >> /var/lib/warmside/alerts.jsonl'
bad "a stranger is told" as stranger warmside now
grep -q 'cannot be read: Permission denied' "$work/said.out" || fail "a stranger is not told why"
bad "a stranger looks in" as stranger ls /var/lib/warmside /run/warmside
bad "a stranger asks" as stranger warmside ack
# No socket of the watch's listens, neither at the network nor in the file system: only the
# receiver's does.
within sh -c 'awk "\$4 == \"0A\" { print \$2 }" /proc/net/tcp /proc/net/tcp6' > "$work/listening"
same 1 "$(grep -c . "$work/listening")" "ports listened at: the receiver's"
within sh -c 'for pid in $(cat /sys/fs/cgroup/system.slice/warmsided.service/cgroup.procs); do
    ls -l /proc/$pid/fd; done' | sed -n 's/.*socket:\[\([0-9]*\)\].*/\1/p' > "$work/sockets"
[ -s "$work/sockets" ] || fail "the sockets of the watch are not seen"
within awk '$4 == "00010000" { print $7 }' /proc/net/unix > "$work/listeners"
[ -s "$work/listeners" ] || fail "not even the sockets of systemd are seen"
grep -qxFf "$work/listeners" "$work/sockets" && fail "the watch listens"

# ---- its life -----------------------------------------------------------------------------
good "it cannot be reloaded" within systemctl reload warmsided
good "the reload is not logged" wait_until 10 within sh -c \
    'journalctl -u warmsided -o cat | grep -q "the new configuration is in force"'
within sh -c 'mkdir -p /run/systemd/system/warmsided.service.d && printf "%s\n" "[Service]" \
    WatchdogSec=2 TimeoutAbortSec=1 > /run/systemd/system/warmsided.service.d/try.conf &&
    systemctl daemon-reload && systemctl restart warmsided'
hung=$(property MainPID)
within sh -c "kill -s STOP $hung"
came_back()
{
    [ "$(property NRestarts)" = 1 ] && within systemctl is-active --quiet warmsided
}
wait_until 40 came_back || fail "a watch that hangs is not begun again"
[ "$(property MainPID)" != "$hung" ] || fail "the watch that hung goes on"
within rm -r /run/systemd/system/warmsided.service.d
# Kept when it is started without its secrets' folder, too: but then the webhook has no address.
within mv /etc/warmside/secrets /etc/warmside/elsewhere
within sed -i.kept 's/^webhook /#&/' /etc/warmside/warmside.conf
good "without the folder of secrets it does not start" \
    within sh -c 'systemctl daemon-reload && systemctl restart warmsided'
within mv /etc/warmside/elsewhere /etc/warmside/secrets
within mv /etc/warmside/warmside.conf.kept /etc/warmside/warmside.conf

# The page and the dryings, of what was archived at the end of the watch.
within systemctl stop warmsided
good "the runtime folder is gone" within test -d /run/warmside
good "no archive" within test -s /var/lib/warmside/archive/T3.rrd
same 640 "$(within stat -c %a /var/lib/warmside/archive/T3.rrd)" "an archive"
good "no page" within systemctl start warmside-morning
good "dryings are not kept" within systemctl start warmside-drying
good "a member cannot open the page" as keeper grep -q '<!DOCTYPE html>' /var/lib/warmside-morning/morning.html
bad "a stranger opens the page" as stranger cat /var/lib/warmside-morning/morning.html
within systemctl start warmsided

# ---- once more, away, and gone --------------------------------------------------------------
watched=$(property MainPID)
good "it cannot be installed anew" within dpkg -i "$deb"
[ "$(property MainPID)" != "$watched" ] || fail "after an upgrade the old one goes on"
good "it does not go on after an upgrade" within systemctl is-active warmsided
good "the configuration is gone" within grep -q secrets/phone.url /etc/warmside/warmside.conf
good "it cannot be removed" within apt-get -y remove warmside
bad "it runs on when it is removed" within sh -c 'grep -lx warmsided /proc/[0-9]*/comm'
for kept in /etc/warmside/warmside.conf /etc/warmside/secrets/phone.url \
    /var/lib/warmside/alerts.jsonl /var/lib/warmside/archive/T3.rrd; do
    good "$kept is gone when the package is removed" within test -s $kept
done
good "it cannot be purged" within apt-get -y purge warmside
every_file > "$work/after"
diff "$work/before" "$work/after" > "$work/left.out" || fail "a purge leaves something, or takes too much"
good "the user does not stay" within getent passwd warmside
echo "purged: of $(wc -l < "$work/before") files none more and none less; the user stays"
