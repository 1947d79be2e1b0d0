# SPDX-License-Identifier: GPL-3.0-or-later
"""Steps of the wall clock, back and ahead, under a watching warmsided.

    clockstorm.py WORK DAEMON LIBRARY STEPS STANDING SEED

STEPS stand shorter than a clock is believed after (600 s): they must leave no trace,
neither in the log nor in the archive, where all the time is known.  STANDING more,
ahead by hours or a day, stand and are taken back later: that must not lock the
archive, which leaves what it has as it is and goes on as soon as the clock is past
its end.  Each time it is told once that the clock is behind, and once that it is not
any more.
"""

import json
import random
import subprocess
import sys

from paced import Paced, Port, last_update

START = 1767571200 + 600
EVERY = 30              # s
BELIEVED = 600          # s
CONFIGURATION = '''state = "%(work)s/state"
archive { minutes = "30d"  ten_minutes = "30d"  hours = "30d"  write_every = "1min" }
bus "board" { port = "%(work)s/board"  speaks = "lines"  line = "{probe} {temperature}"  every = "%(every)ds" }
probe "b" { bus = "board" }
enclosure "B" { warm_side { probe = "b"  temperature { day = "24..26 C" } } }
'''


class Trial:
    def __init__(self, work, daemon, library, seed):
        self.work, self.rng, self.number = work, random.Random(seed), 0
        with open(work + '/room.conf', 'w') as out:
            out.write(CONFIGURATION % {'work': work, 'every': EVERY})
        self.port = Port(work + '/board')
        self.paced = Paced(work, daemon, library, START)
        self.paced.begin()
        self.paced.step(self.paced.now, [(self.port, '\n')])

    def go_on(self, seconds):
        for _ in range(int(seconds // EVERY)):
            self.number += 1
            self.paced.step(self.paced.now + EVERY,
                            [(self.port, 'b %.1f\n' % (24.5 + self.number % 10 / 10))])
            self.paced.settle() # no minute of ours is longer than the archivist needs

    def turn(self, by):
        self.paced.shift += by

    def passing(self):
        """A step that is taken back before it is believed."""
        by = self.rng.choice((-1, 1)) * 10 ** self.rng.uniform(1, 6)
        self.turn(by)
        self.go_on(self.rng.randrange(EVERY, BELIEVED - EVERY, EVERY))
        self.turn(-by)
        self.go_on(EVERY * self.rng.randrange(1, 5))

    def standing(self, by):
        """One that stands until it is believed."""
        self.turn(by)
        self.go_on(BELIEVED + 10 * EVERY)

    def archived(self):
        self.go_on(4 * 60)
        return last_update(self.work + '/state/archive/B.rrd')

    def events(self):
        with open(self.work + '/state/alerts.jsonl') as file:
            return [(r['event'], r['condition']) for r in map(json.loads, file)]

    def wall(self):
        return self.paced.now + self.paced.shift


def known(work, begin, end):
    """s of the warm side that the archive knows."""
    text = subprocess.run(['rrdtool', 'fetch', work + '/state/archive/B.rrd', 'AVERAGE', '-r', '60',
                           '-s', str(begin), '-e', str(end - 60)], check=True,
                          capture_output=True, text=True).stdout.splitlines()
    column = text[0].split().index('warm_t_ok')
    values = [float(line.split()[1 + column]) for line in text[2:]]
    return sum(60 * v for v in values if v == v)


def main():
    work, daemon, library, steps, believed, seed = sys.argv[1:7]
    trial, faults = Trial(work, daemon, library, int(seed)), []
    trial.go_on(600)
    begin = int(trial.wall()) // 60 * 60
    for _ in range(int(steps)):
        trial.passing()
    end = int(trial.archived()) - 60
    missing = end - begin - known(work, begin, end)
    print('%s steps taken back within %d s: %.3f s of %d unknown, told: %s' %
          (steps, BELIEVED, missing, end - begin, trial.events()))
    if abs(missing) > 0.001 or trial.events():
        faults.append('steps that were taken back have left a trace')

    believed = int(believed)
    for number in range(believed):
        by = (3600, 7200, 86400)[number % 3]
        trial.standing(by)
        ahead = trial.archived()
        if not trial.wall() - 300 < ahead <= trial.wall():
            faults.append('ahead by %d s: the archive ends %.0f s before now' %
                          (by, trial.wall() - ahead))
        # Back: as soon as that is believed nothing is archived, until the clock is
        # where the archive ends.
        trial.standing(-by)
        ahead = trial.archived()
        trial.go_on(BELIEVED + 600)
        if trial.archived() != ahead:
            faults.append('back by %d s: the archive was changed' % by)
        trial.go_on(ahead - trial.wall() + 900)
        if not trial.wall() - 300 < trial.archived() <= trial.wall():
            faults.append('after %d s the archive is locked' % by)
    told = trial.events()
    print('%d steps ahead that stood, and as many back: told %s' %
          (believed, {e: told.count(e) for e in sorted(set(told))}))
    if [e for e in told if e[0] != 'reminded'] != \
            [('raised', 'clock'), ('cleared', 'clock')] * believed:
        faults.append('a clock that is behind is to be told once, and that it is over')
    trial.paced.end()
    for text in faults[:20]:
        print('FAULT:', text)
    sys.exit(bool(faults))


main()
