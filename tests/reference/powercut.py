# SPDX-License-Identifier: GPL-3.0-or-later
"""What a power cut leaves of the archives: while warmsided watches a room, all its
processes are held at random moments of their work and the disk is copied as it is
then, with what was not synced missing.

    powercut.py WORK DAEMON LIBRARY CUTS SEED HOOK_URL IMAGE

IMAGE is mounted on WORK/state.  On each copy a daemon is started, which undoes what was
under way, and ended.  No minute older than those that had gathered may be missing
then, none may be wrong, and what has gone is unknown time.
"""

import os
import signal
import subprocess
import sys
import time

from killstorm import EVERY, Storm, agrees, expected, rows_of
from paced import Paced, send, state
from pacedroom import SERIES

GATHERED = 600          # s: write_every, and
UNDER_WAY = 120         # s: a minute that is not over, and until it is sure that it is


def unmount(folder):
    subprocess.run(['umount', folder], check=True)


def held_copy(paced, image, copy):
    """The disk at an instant: nobody works meanwhile."""
    everybody = [paced.process.pid] + paced.children()
    for pid in everybody:
        send(pid, signal.SIGSTOP)
    while not all(state(pid) in 'TXZ' for pid in everybody):
        time.sleep(0.0005) # what is on its way to the disk is there when its call is over
    subprocess.run(['cp', '--sparse=always', image, copy], check=True)
    for pid in everybody:
        send(pid, signal.SIGCONT)


def is_less(row, minutes):
    """Less is known than truly was; of the minute that was under way when a part of the
    readings reached the disk by chance, a part is."""
    return row is None or all(not row[ds + '_ok'] * 60 > sums[2] - 1e-5
                              for ds, sums in minutes.items())


class Cut:
    """A copy, and what a daemon makes of it."""

    def __init__(self, storm, copy, daemon, library):
        self.work, self.copy, self.now = storm.work + '/after', copy, storm.paced.now
        os.makedirs(self.work + '/state')
        subprocess.run(['mount', '-o', 'loop,commit=300', copy, self.work + '/state'], check=True)
        self.amid = is_in_use(self.work + '/state/archive/.undo')
        with open(storm.work + '/room.conf') as conf, open(self.work + '/room.conf', 'w') as out:
            out.write(conf.read().replace('"%s/' % storm.work, '"%s/' % self.work))
        paced = Paced(self.work, daemon, library, self.now + 60)
        paced.begin()
        paced.step(paced.now + 2)
        paced.end()

    def check(self, stretches, enclosure):
        """Minutes looked at, minutes lost, what is wrong."""
        minutes = expected(stretches, enclosure)
        first = min(minutes)
        last = int(self.now - 60) // 60 * 60
        path = '%s/state/archive/%s.rrd' % (self.work, enclosure)
        rows = rows_of(path, first - 60, last) if os.path.exists(path) else {}
        lost, wrong = 0, []
        for end in range(first, last + 1, 60):
            row = rows.get(end)
            if agrees(row, minutes[end]):
                continue
            if end > self.now - GATHERED - UNDER_WAY and is_less(row, minutes[end]):
                lost += 1
                continue
            wrong.append('%s: %d s before the cut: %s, truly %s' %
                         (enclosure, self.now - end, row, minutes[end]))
        return (last - first) // 60 + 1, lost, wrong

    def clear(self):
        unmount(self.work + '/state')
        subprocess.run(['rm', '-r', self.work, self.copy], check=True)


def is_in_use(undo):
    """Whether heads are kept: archives are being written."""
    try:
        with open(undo, 'rb') as file:
            return any(file.read(16)[8:])
    except FileNotFoundError:
        return False


def go_on_until_written(storm):
    """Into the midst of the next batch; it may be over too fast."""
    undo = storm.work + '/state/archive/.undo'
    for _ in range(GATHERED // EVERY + 20):
        now = storm.paced.now + EVERY
        storm.paced.give(now, storm.lines(now))
        until = time.monotonic() + 0.02
        while time.monotonic() < until:
            if is_in_use(undo):
                time.sleep(storm.rng.random() * 0.004)
                return
        storm.paced.wait_done()
    storm.amid(False)


def main():
    work, daemon, library, cuts, seed, hook, image = sys.argv[1:8]
    storm = Storm(work, daemon, library, hook, int(seed))
    looked, lost, wrong, amid = 0, 0, [], 0
    storm.begin()
    storm.go_on(130) # gathering comes to its full length
    for number in range(int(cuts)):
        storm.go_on(storm.rng.randrange(1, 100))
        if number % 2:
            go_on_until_written(storm)
        else:
            storm.amid(False)
        held_copy(storm.paced, image, work + '/copy')
        storm.paced.wait_done()
        cut = Cut(storm, work + '/copy', daemon, library)
        amid += cut.amid
        for name in sorted({name for name, _ in SERIES}):
            minutes, gone, bad = cut.check(storm.stretches, name)
            looked, lost, wrong = looked + minutes, lost + gone, wrong + bad
        cut.clear()
    storm.paced.end()
    print('%s cuts, %d amid a batch; %d minutes looked at, %d of those gathered lost, %d wrong' %
          (cuts, amid, looked, lost, len(wrong)))
    for text in wrong[:10]:
        print('WRONG:', text)
    sys.exit(bool(wrong) or not lost or not amid)


if __name__ == '__main__':
    main()
