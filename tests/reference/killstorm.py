# SPDX-License-Identifier: GPL-3.0-or-later
"""Kills the processes of a watching warmsided again and again, and holds every
minute of its archives against the readings it was given.

    killstorm.py WORK DAEMON LIBRARY KILLS SEED HOOK_URL

The daemon's clocks are ours (paced.py), so each reading's time is known exactly.
A life ends by a kill of the watcher alone, of all three processes at once, or in
order; archivist and courier are killed amid it.  Half of the kills meet a daemon
that has done all it had to, half come at a random moment of its work.

No kill may cost anything: every minute must be, to 1e-5 s, what it would be had one
daemon had all the readings, and what is unknown is the time between two readings
more than 3 polls apart.  Only an orderly end begins anew.  A reading that was on its
way when the watcher was killed may have been taken or not; so it repeats the one
before, as does the first after it, and nobody is away for long then: the line is the
same with it and without.
"""

import collections
import math
import os
import random
import subprocess
import sys
import time

import truth
from killer import is_archivist
from paced import Paced, Port, send
from pacedroom import CHANGEOVER, HOURS, SERIES, Board, configuration

START = 1767571200 + 7 * 3600 + 1234    # the band changes while we watch
EVERY = 10                              # s between two polls; a step
KINDS = ('watcher', 'all', 'archivist', 'courier', 'order')
COLUMNS = ('lo', 'hi', 'ok', '', 'out')


class Storm:
    def __init__(self, work, daemon, library, hook, seed):
        self.rng = random.Random(seed)
        self.work = work
        with open(work + '/room.conf', 'w') as out:
            out.write(configuration(work, hook, EVERY,
                                    'minutes = "30d"  ten_minutes = "30d"  hours = "30d"'))
        self.port = Port(work + '/board')
        self.paced = Paced(work, daemon, library, START)
        # Of each stretch that an orderly end closed: probe -> (time, (t, h)).
        self.stretches, self.done = [collections.defaultdict(list)], collections.Counter()
        self.board, self.held = Board(self.port, self.rng), False

    def lines(self, now, repeated=False):
        values = self.board.values_now() if repeated or self.held else self.board.move()
        self.held = repeated
        for probe, pair in values.items():
            self.stretches[-1][probe].append((now, pair))
        return self.board.lines(values)

    def begin(self):
        # Nothing of what a life was told may reach the next, however late.
        self.port.unplug()
        self.port.plug()
        self.done['lives'] += 1
        self.paced.begin()
        self.paced.step(self.paced.now + 2) # by then it has found its port, ...
        # ... and passes over its first line, of which it may have heard the end only.
        self.paced.step(self.paced.now, [(self.port, '\n')])

    def go_on(self, steps, rest=True):
        for _ in range(steps):
            now = self.paced.now + EVERY
            self.paced.step(now, self.lines(now))
            if rest:
                self.paced.settle()

    def amid(self, repeated):
        """A step that is not waited for, and some time into it."""
        now = self.paced.now + EVERY
        self.paced.give(now, self.lines(now, repeated))
        time.sleep(self.rng.choice((0, 0.0005, 0.002, 0.006)) * self.rng.random())

    def end_life(self, kind, amid):
        young = self.paced.children()
        if kind == 'order':
            self.paced.end()
            self.stretches.append(collections.defaultdict(list))
        else:
            send(self.paced.process.pid)
            if kind == 'all':
                for pid in young:
                    send(pid)
            self.paced.process.wait()
        # After an orderly end the minute it ended in is closed for good.
        self.paced.now += self.rng.choice((0, 1) if amid else (0, 1, 30, 300)) + \
            self.rng.random() + (60 if kind == 'order' else 0)
        self.begin()

    def end_child(self, kind, amid):
        self.done[kind] += any([send(pid) for pid in self.paced.children()
                                if is_archivist(pid) == (kind == 'archivist')])
        if amid:
            self.paced.wait_done()

    def one(self, kind):
        self.go_on(self.rng.randrange(2, 26), rest=self.rng.random() < 0.7)
        # Who is to end in order may do so before it reads what has just come.
        amid = kind != 'order' and self.rng.random() < 0.5
        if amid:
            self.amid(kind in ('watcher', 'all'))
        if kind in ('archivist', 'courier'):
            self.end_child(kind, amid)
        else:
            self.done[kind] += 1
            self.end_life(kind, amid)

    def finish(self):
        """All come home; what stands is over, also what chattered."""
        self.board.calm = True
        self.go_on(420)
        outbox = self.work + '/state/outbox'
        until = time.monotonic() + 60
        while any(name.endswith('.json') for name in os.listdir(outbox)):
            if time.monotonic() > until:
                sys.exit('messages are left')
            self.go_on(1)
            time.sleep(0.01)
        self.paced.end()


# ---- the truth ----------------------------------------------------------------

def rows_of(path, begin, end):
    """DS -> end of a minute -> value"""
    text = subprocess.run(['rrdtool', 'fetch', path, 'AVERAGE', '-r', '60', '-s', str(begin),
                           '-e', str(end)], check=True, capture_output=True, text=True).stdout
    lines = text.splitlines()
    names = lines[0].split()
    rows = {}
    for line in lines[2:]:
        at, _, values = line.partition(':')
        rows[int(at)] = dict(zip(names, map(float, values.split())))
    return rows


def agrees(row, expected):
    """A row of all series of an enclosure, and ds -> sums.  A stretch of which nothing
    is known may have no row, or one without a value."""
    if row is None:
        return not any(sums[2] for sums in expected.values())
    for ds, sums in expected.items():
        low, high, known, area, out = sums
        found = [row[ds + '_' + c if c else ds] for c in COLUMNS]
        for value, true in zip(found, (low, high, known, None, out)):
            if true is not None and not abs((0 if math.isnan(value) else value * 60) - true) < 1e-5:
                return False
        if known > 1e-5 and not abs(found[3] - area / known) < 1e-4:
            return False
    return True


def expected(stretches, enclosure):
    """End of a minute -> ds -> sums"""
    minutes = collections.defaultdict(
        lambda: {ds: [0.0] * 5 for e, ds in SERIES if e == enclosure})
    for stretch in stretches:
        for (name, ds), (probe, column, day, night) in SERIES.items():
            readings = [(t, v[column]) for t, v in stretch[probe]]
            if name != enclosure or len(readings) < 2:
                continue
            band = truth.Band(day, night, HOURS, CHANGEOVER, readings[0][0], readings[-1][0])
            for end, sums in truth.by_minute(readings, EVERY, band).items():
                minutes[end][ds] = sums
    return minutes


def check(storm, enclosure):
    """How many minutes, and what is wrong."""
    minutes = expected(storm.stretches, enclosure)
    first, last = min(minutes), max(minutes)
    rows = rows_of('%s/state/archive/%s.rrd' % (storm.work, enclosure), first - 60, last)
    wrong = []
    for end in range(first, last + 1, 60):
        if not agrees(rows.get(end), minutes[end]):
            wrong.append('%s: the minute that ends at %d: %s, truly %s' %
                         (enclosure, end, rows.get(end), minutes[end]))
    return (last - first) // 60 + 1, wrong


def main():
    work, daemon, library, kills, seed, hook = sys.argv[1:7]
    storm = Storm(work, daemon, library, hook, int(seed))
    plan = [KINDS[i % len(KINDS)] for i in range(int(kills))]
    storm.rng.shuffle(plan)
    storm.begin()
    for kind in plan:
        storm.one(kind)
    storm.finish()
    looked, wrong = 0, []
    for name in sorted({name for name, _ in SERIES}):
        minutes, more = check(storm, name)
        looked += minutes
        wrong += more
    readings = sum(len(r) for stretch in storm.stretches for r in stretch.values())
    print('killed:', ', '.join('%s %d times' % (kind, storm.done[kind]) for kind in KINDS))
    print('%d lives, %d readings, %d minutes looked at, %d wrong' %
          (storm.done['lives'], readings, looked, len(wrong)))
    for text in wrong[:10]:
        print('WRONG:', text)
    sys.exit(bool(wrong))


if __name__ == '__main__':
    main()
