#!/bin/sh
# SPDX-License-Identifier: GPL-3.0-or-later
#
# The archivist is killed while a recording runs through the daemon, 15 times
# (300 with LONG=1), and the courier sits on a name server that never
# answers: afterwards no reading is missing, no row is wrong, and every alert
# was posted to the webhook that can be reached.
. "${top_srcdir:-.}/tests/lib.sh"
need python3
kills=15 days=20
[ -z "${LONG:-}" ] || kills=300 days=120
seed=${SEED:-$(date +%s)}
exact=$top_srcdir/tests/reference/exact.py

# A network of its own, in which the only name server is one that is silent.
in_namespace --net --mount
echo "nameserver 127.0.0.1" > "$work/resolv.conf"
mount --bind "$work/resolv.conf" /etc/resolv.conf || skip "resolv.conf cannot be covered"
python3 - << 'END' || skip "the loopback interface cannot be brought up"
import fcntl, socket, struct
s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
SIOCSIFFLAGS, IFF_UP = 0x8914, 1
fcntl.ioctl(s, SIOCSIFFLAGS, struct.pack('16sH14x', b'lo', IFF_UP))
END
start dns python3 -c "
import socket, time
s = socket.socket(socket.AF_INET, socket.SOCK_DGRAM)
s.bind(('127.0.0.1', 53))
print('silent', flush=True)
while True: s.recv(600)"
wait_until 10 grep -q silent "$work/dns.out" || fail "no silent name server"
start_hook

# untold LOG POSTS: how many alerts were raised, how many of them the log says
# were told, and how many of those no post tells of, be it alone, gathered, or
# in the summary of what was over before it could be delivered.
untold()
{
    python3 - "$1" "$2" << 'END'
import json, sys
raised = [r for r in map(json.loads, open(sys.argv[1])) if r['event'] == 'raised']
told = {r['id'] for r in raised if r['message']}
posted = set()
for line in open(sys.argv[2]):
    data = json.loads(json.loads(line)['body'])['data']
    posted.update(a if isinstance(a, str) else a['id'] for a in data['alerts'])
print(len(raised), len(told), len(told - posted))
END
}

# One recording with the killer at work; adds to $killed.
one_round()
{
    home=$work/$seed
    mkdir "$home"
    : > "$hook_log"
    python3 "$exact" make "$seed" "$days" "$home" || fail "no recording"
    cat >> "$home/room.conf" << END
webhook "lost" { endpoint = "http://nowhere.example/" }
webhook "phone" { endpoint = "$hook_url" }
END
    start replay "$daemon" -c "$home/room.conf" --replay "$home/room.csv" --post
    replay_pid=$started_pid
    now=$(python3 "$top_srcdir/tests/reference/killer.py" "$replay_pid" "$kills" "$seed")
    killed=$((killed + now))
    # It waits for the courier, which waits for the name server: that it all
    # ends is enough.
    wait_until 120 gone "$replay_pid" || fail "the replay does not end"
    wait "$replay_pid"
    same 0 $? "the exit status of the replay"
    same 0 "$(find "$home/state/outbox" -name '*-phone.json' | wc -l)" "messages left for the phone"
    # shellcheck disable=SC2046
    set -- $(untold "$home/state/alerts.jsonl" "$hook_log")
    echo "seed $seed: killed $now times; $1 alerts raised, $2 of them told, $3 not posted"
    [ "$2" -gt 0 ] && [ "$3" -eq 0 ] || fail "alerts are missing at the webhook"
    python3 "$exact" check "$seed" "$days" "$home" "$report" || fail "the totals are not the truth"
}

killed=0
while [ "$killed" -lt "$kills" ]; do
    one_round
    seed=$((seed + 1))
done
echo "killed $killed times in all"
