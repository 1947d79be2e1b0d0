# SPDX-License-Identifier: GPL-3.0-or-later
"""Runs warmsided, kills it or one of its children, and starts it again.

    alertkiller.py random WORK DAEMON TIMES SEED
    alertkiller.py point WORK DAEMON LIBRARY WHO FIRST LAST

random: TIMES kills with SIGKILL at random moments.  Half of them meet the
watcher, whose children the system ends with it; a quarter all three at once;
the rest the archivist or the courier alone.  A life of the victim is drawn
evenly over the logarithm of 20 ms to 2.5 s.
point: with LIBRARY before all others (see killpoint.c), life N of WHO (watcher or
courier) ends at its N-th change of a file below the state folder, for N from
FIRST to LAST.

WORK holds room.conf and state/; what the daemons say goes to daemon.err there.
After the last kill a file calm is made, at which alertboard.py calms down; a
last daemon lives until nothing stands and nothing waits, and is ended.
"""

import json
import os
import random
import signal
import subprocess
import sys
import time

from killer import children, is_archivist


class Room:
    def __init__(self, work, daemon):
        self.work, self.daemon, self.errors = work, daemon, work + '/daemon.err'
        open(self.errors, 'ab').close()

    def begin(self, extra=None):
        with open(self.errors, 'ab') as log:
            return subprocess.Popen([self.daemon, '-c', self.work + '/room.conf'], stdout=log,
                                    stderr=log, env={**os.environ, **(extra or {})})

    def couriers_died(self):
        with open(self.errors, 'rb') as log:
            return log.read().count(b'the courier died')

    def is_calm(self):
        """The board's last word is told, nothing stands, nothing waits."""
        try:
            with open(self.work + '/state/alerts.jsonl', 'rb') as file:
                last = [line for line in file if b'"enclosure":"last"' in line]
            with open(self.work + '/state/standing.json') as file:
                whole = json.load(file)
        except (OSError, ValueError):
            return False
        return bool(last) and b'"cleared"' in last[-1] and \
            not any('alert' in entry or 'silence' in entry for entry in whole['standing']) and \
            not whole.get('gathering') and not whole.get('unlogged') and \
            not any(name.endswith('.json') for name in os.listdir(self.work + '/state/outbox'))

    def calm_down(self, running):
        open(self.work + '/calm', 'w').close()
        until = time.monotonic() + 60
        while not self.is_calm() and time.monotonic() < until and running.poll() is None:
            time.sleep(0.1)
        if not self.is_calm():
            print('it does not calm down')
        running.terminate()
        if running.wait(30) != 0:
            sys.exit('the last daemon ended with %d' % running.returncode)


def kill(pid):
    try:
        os.kill(pid, signal.SIGKILL)
        return True
    except ProcessLookupError:
        return False


def random_kills(room, times, seed):
    rng = random.Random(seed)
    done = dict.fromkeys(('watcher', 'all', 'archivist', 'courier'), 0)
    running, refused = room.begin(), 0
    while sum(done.values()) < times:
        time.sleep(0.02 * 125 ** rng.random())
        what = rng.choice(('watcher', 'watcher', 'all', 'archivist', 'courier'))
        young = children(running.pid)
        if running.poll() is not None: # the lock was held a moment longer
            refused += 1
            if refused > times:
                sys.exit('the daemon ends by itself, with %s' % running.returncode)
            running = room.begin()
            continue
        if what in ('archivist', 'courier'):
            victims = [pid for pid in young if is_archivist(pid) == (what == 'archivist')]
            done[what] += any([kill(pid) for pid in victims])
            continue
        kill(running.pid)
        if what == 'all':
            for pid in young:
                kill(pid)
        running.wait()
        done[what] += 1
        running = room.begin()
    print('killed:', ', '.join('%s %d times' % item for item in done.items()),
          '; refused a start: %d' % refused)
    return running


def point_kills(room, library, who, first, last):
    reached, short = 0, 0
    for number in range(first, last + 1):
        before, until = room.couriers_died(), time.monotonic() + 15
        running = room.begin({'LD_PRELOAD': library, 'KILLPOINT_WHO': who,
                              'KILLPOINT_AT': str(number),
                              'KILLPOINT_BELOW': os.path.realpath(room.work + '/state')})
        dead = False
        while not dead and time.monotonic() < until:
            time.sleep(0.005)
            dead = (running.poll() is not None if who == 'watcher' else
                    room.couriers_died() > before)
        reached += dead
        short += not dead
        if running.poll() is None:
            kill(running.pid)
        elif running.returncode != -signal.SIGKILL:
            sys.exit('life %d ended with %d' % (number, running.returncode))
        running.wait()
    print('%s killed at its change %d to %d: %d lives ended so, %d came not so far' %
          (who, first, last, reached, short))
    return room.begin()


def main():
    room = Room(*sys.argv[2:4])
    if sys.argv[1] == 'random':
        running = random_kills(room, int(sys.argv[4]), int(sys.argv[5]))
    else:
        running = point_kills(room, *sys.argv[4:6], int(sys.argv[6]), int(sys.argv[7]))
    room.calm_down(running)


main()
