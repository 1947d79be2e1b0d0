# SPDX-License-Identifier: GPL-3.0-or-later
"""Kills the processes of a watching warmsided again and again, and holds every
minute of its archives against the readings it was given.

    killstorm.py WORK DAEMON LIBRARY KILLS SEED HOOK_URL

The daemon's clocks are ours (paced.py), so each reading's time is known exactly.
A life ends by a kill of the watcher alone, of all three processes at once, or in
order; archivist and courier are killed amid it.  Half of the kills meet a daemon
that has done all it had to, half come at a random moment of its work.

What must be in the archives, minute by minute and to 1e-5 s:
- of a life that ended in order, everything;
- of a life that was killed, an unbroken run of whole minutes from its begin, at
  least those that were archived at the moment of the kill, and those that could be
  closed more than TICK and GATHER before, if the archivist was well and it had come
  to rest at each of the last steps.  A minute can be closed when each of its
  enclosure's series has a reading at or after its end: so the watcher's death costs
  the open minute and what could be closed in the last 2 s, and nothing else.
Killed archivists and couriers cost nothing at all.
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
from paced import Paced, Port, last_update, send
from pacedroom import CHANGEOVER, HOURS, SERIES, Board, configuration

START = 1767571200 + 7 * 3600 + 1234    # the band changes while we watch
EVERY = 10                              # s between two polls; a step
TICK = 1                                # s between two looks what can be closed
GATHER = 1                              # s a closed minute may wait for others
HAIR = 0.1                              # s
WELL_AFTER = 120                        # s after the death of an archivist
REST = 3                                # steps: one closes, one sends, one is sure
KINDS = ('watcher', 'all', 'archivist', 'courier', 'order')
COLUMNS = ('lo', 'hi', 'ok', '', 'out')


class Life:
    """What one watcher was given, and what may be missing of it."""

    def __init__(self):
        self.readings = collections.defaultdict(list)  # probe -> (time, (t, h))
        self.whole_step = 0.0       # the last that was done to its end
        self.rested = 0.0           # the last of REST steps in a row that all came to rest
        self.handed = 0.0           # what was read up to then is with the archivist if closed
        self.rests = 0
        self.unwell_until = 0.0
        self.end = 'order'
        self.archived = {}          # enclosure -> end of its archive at the kill

    def surely(self, enclosure):
        """The end of what must be there."""
        probes = {of[0] for (name, _), of in SERIES.items() if name == enclosure}
        if self.end == 'order':
            return math.inf
        sure = self.archived.get(enclosure, 0)
        if self.rested >= self.unwell_until and all(self.readings[p] for p in probes):
            last = min(max((t for t, _ in self.readings[p] if t <= self.handed), default=0)
                       for p in probes)
            sure = max(sure, last // 60 * 60)
        return sure


class Storm:
    def __init__(self, work, daemon, library, hook, seed):
        self.rng = random.Random(seed)
        self.work = work
        with open(work + '/room.conf', 'w') as out:
            out.write(configuration(work, hook, EVERY,
                                    'minutes = "30d"  ten_minutes = "30d"  hours = "30d"'))
        self.port = Port(work + '/board')
        self.paced = Paced(work, daemon, library, START)
        self.lives, self.done = [], collections.Counter()
        self.board = Board(self.port, self.rng)

    def lines(self, now):
        values = self.board.move()
        for probe, pair in values.items():
            self.lives[-1].readings[probe].append((now, pair))
        return self.board.lines(values)

    def begin(self):
        # Nothing of what a life was told may reach the next, however late.
        self.port.unplug()
        self.port.plug()
        self.lives.append(Life())
        self.paced.begin()
        self.paced.step(self.paced.now + 2) # by then it has found its port, ...
        # ... and passes over its first line, of which it may have heard the end only.
        self.paced.step(self.paced.now, [(self.port, '\n')])

    def go_on(self, steps, rest=True):
        life = self.lives[-1]
        for _ in range(steps):
            now = self.paced.now + EVERY
            self.paced.step(now, self.lines(now))
            life.whole_step = now
            life.rests = life.rests + 1 if rest else 0
            if rest:
                self.paced.settle()
            if life.rests >= REST:
                # A step has one tick, maybe before its readings.
                life.rested, life.handed = now, now - 2 * EVERY

    def wait_a_moment(self):
        """Just as long as a minute needs that can be closed now."""
        life, now = self.lives[-1], self.paced.now
        for after in (TICK, TICK + GATHER):
            self.paced.step(now + after + HAIR)
            self.paced.settle()
        if life.rested == now:
            life.rested = life.whole_step = self.paced.now
            life.handed = now

    def amid(self):
        """A step that is not waited for, and some time into it."""
        now = self.paced.now + EVERY
        self.paced.give(now, self.lines(now))
        time.sleep(self.rng.choice((0, 0.0005, 0.002, 0.006)) * self.rng.random())

    def end_life(self, kind):
        life, young = self.lives[-1], self.paced.children()
        for name in {name for name, _ in SERIES}:
            path = '%s/state/archive/%s.rrd' % (self.work, name)
            life.archived[name] = last_update(path)
            if os.path.exists(path + '.head'):  # of a batch that can still be undone
                life.archived[name] = 0
        if kind == 'order':
            self.paced.end()
        else:
            send(self.paced.process.pid)
            if kind == 'all':
                for pid in young:
                    send(pid)
            self.paced.process.wait()
        life.end = kind
        self.done[kind] += 1
        # After an orderly end the minute it ended in is closed for good.
        self.paced.now += self.rng.choice((0, 1, 30, 300)) + self.rng.random() + \
            (60 if kind == 'order' else 0)
        self.begin()

    def end_child(self, kind):
        victims = [pid for pid in self.paced.children()
                   if is_archivist(pid) == (kind == 'archivist')]
        self.done[kind] += any([send(pid) for pid in victims])
        if kind == 'archivist':
            self.lives[-1].unwell_until = self.paced.now + WELL_AFTER
        # What was asked of the watcher amid its step is answered first.
        self.paced.wait_done() if self.owed else None

    def one(self, kind):
        # Rarely long enough to be told of; minutes close at each sixth step.
        self.go_on(self.rng.randrange(2, 26), rest=self.rng.random() < 0.7)
        if self.rng.random() < 0.5:
            self.wait_a_moment()
        # Who is to end in order may do so before it reads what has just come.
        self.owed = kind != 'order' and self.rng.random() < 0.5
        if self.owed:
            self.amid()
        if kind in ('archivist', 'courier'):
            self.end_child(kind)
        else:
            self.end_life(kind)

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
    """A row of all series of an enclosure, and ds -> sums."""
    for ds, sums in expected.items():
        low, high, known, area, out = sums
        found = [row[ds + '_' + c if c else ds] for c in COLUMNS] if row else [math.nan] * 5
        for value, true in zip(found, (low, high, known, None, out)):
            if true is not None and not abs((0 if math.isnan(value) else value * 60) - true) < 1e-5:
                return False
        if known > 1e-5 and not abs(found[3] - area / known) < 1e-4:
            return False
    return True


def added(one, other):
    return {ds: [a + b for a, b in zip(one.get(ds, [0.0] * 5), other.get(ds, [0.0] * 5))]
            for ds in one.keys() | other.keys()}


class Check:
    def __init__(self, lives, work):
        self.lives, self.work = lives, work
        self.wrong, self.minutes, self.lost = [], 0, []
        # The longest that was lost of lives of which everything surely closed is there.
        self.longest = 0.0

    def contributions(self, enclosure, life):
        """End of a minute -> ds -> sums"""
        minutes = collections.defaultdict(dict)
        for (name, ds), (probe, column, day, night) in SERIES.items():
            readings = [(t, v[column]) for t, v in life.readings[probe]]
            if name != enclosure or len(readings) < 2:
                continue
            band = truth.Band(day, night, HOURS, CHANGEOVER, readings[0][0], readings[-1][0])
            for end, sums in truth.by_minute(readings, EVERY, band).items():
                minutes[end][ds] = sums
        return minutes

    def enclosure(self, name):
        begin = int(START // 60 * 60 - 60)
        last = max(t for life in self.lives for r in life.readings.values() for t, _ in r)
        rows = rows_of('%s/state/archive/%s.rrd' % (self.work, name), begin, int(last) + 120)
        names = [ds for e, ds in SERIES if e == name]
        nothing = {ds: [0.0] * 5 for ds in names}
        expected = collections.defaultdict(list) # end -> (life, sums), in order
        for number, life in enumerate(self.lives):
            for end, sums in self.contributions(name, life).items():
                expected[end].append((number, sums))
        cut = {}    # life -> the end of its first minute that is missing
        for end in sorted(set(rows) | set(expected)):
            if end not in rows and end > max(expected):
                continue
            self.minutes += 1
            row, parts = rows.get(end, {}), expected.get(end, [])
            # What may be missing of it: everything of the lives that it was open in.
            for keep in range(2 ** len(parts) - 1, -1, -1):
                kept = [p for i, p in enumerate(parts) if keep >> i & 1]
                sums = nothing
                for _, some in kept:
                    sums = added(sums, some)
                if agrees(row, sums):
                    break
            else:
                self.wrong.append('%s: the minute that ends at %d: %s, truly one of %s' %
                                  (name, end, row, parts))
                continue
            for number, _ in parts:
                life = self.lives[number]
                here = any(number == n for n, _ in kept)
                if here and number in cut:
                    self.wrong.append('%s: life %d: %d is there, %d was not' %
                                      (name, number, end, cut[number]))
                elif not here:
                    cut.setdefault(number, end)
                    if end <= life.surely(name):
                        self.wrong.append('%s: life %d (%s): the minute that ends at %d is lost, all up '
                                          'to %s should be there' %
                                          (name, number, life.end, end, life.surely(name)))
        for number, end in cut.items():
            life = self.lives[number]
            gone = life.whole_step - (end - 60)
            self.lost.append(gone)
            if life.rested == life.whole_step >= life.unwell_until:
                self.longest = max(self.longest, gone)


def main():
    work, daemon, library, kills, seed, hook = sys.argv[1:7]
    storm = Storm(work, daemon, library, hook, int(seed))
    plan = [KINDS[i % len(KINDS)] for i in range(int(kills))]
    storm.rng.shuffle(plan)
    storm.begin()
    for kind in plan:
        storm.one(kind)
    storm.finish()
    check = Check(storm.lives, work)
    for name in sorted({name for name, _ in SERIES}):
        check.enclosure(name)
    readings = sum(len(r) for life in storm.lives for r in life.readings.values())
    print('killed:', ', '.join('%s %d times' % item for item in sorted(storm.done.items())))
    print('%d lives, %d readings, %d minutes looked at, %d wrong; of %d lives the end is missing, '
          'at most %.1f s before the last whole step, %.1f s where the archivist was at rest' %
          (len(storm.lives), readings, check.minutes, len(check.wrong), len(check.lost),
           max(check.lost, default=0), check.longest))
    for text in check.wrong[:10]:
        print('WRONG:', text)
    sys.exit(bool(check.wrong) or not check.lost)


if __name__ == '__main__':
    main()
