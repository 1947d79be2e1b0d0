# SPDX-License-Identifier: GPL-3.0-or-later
"""Many days of a watching warmsided under clocks of ours: does it grow, and are
its totals exact in the end?

    soak.py WORK DAEMON LIBRARY DAYS EVERY SEED REPORT PARTNER_HOOK

The room is polled once in EVERY s and strays all the time; what the webhook
receives is in hook.jsonl.  The receiver is away for a tenth of the time; the board
falls silent now and then, for minutes to hours; within the first quarter of the
time the daemon is ended and started again and again.  Once in six hours its
processes are looked at.  What they hold of their own, their descriptors, now.json and
how many files there are must be in the last quarter of the time what they were in
the second; the outbox is empty in the end.  Prints figures, exits 1 at a fault.
"""

import json
import os
import random
import statistics
import subprocess
import sys
import time

import truth
from killer import is_archivist
from paced import Paced, Port, cost
from pacedroom import CHANGEOVER, HOURS, SERIES, Board, configuration
from soakhook import Receiver

START = 1767571200
LOOK = 6 * 3600         # s between two looks
GROWTH = 1.05           # last quarter against second ...
SETTLING = 256          # ... and, KiB, in a time so short that the heap still finds its shape
SHORT = 100             # days
OPEN_NOW = 1            # descriptors: the file of what is gathered is open while it is appended to
PLACES = {'warm': 'warm_side', 'cool': 'cool_side', 'hide': 'humid_hide'}
STANDING_MOST = 16384   # bytes; it has as much as stands, and five series can
MOST_WAITING = 2000     # messages in the outbox while nobody takes them


class Soak:
    def __init__(self, work, daemon, library, days, every, seed, partner):
        self.rng, self.work, self.days, self.every = random.Random(seed), work, days, every
        self.hook = Receiver(partner, work)
        with open(work + '/room.conf', 'w') as out:
            out.write(configuration(work, 'http://127.0.0.1:%s/hook' % self.hook.port, every,
                                    'minutes = "10d"  ten_minutes = "90d"  hours = "1095d"'))
        self.board = Board(Port(work + '/board'), self.rng, (0.6, 2.5))
        self.paced = Paced(work, daemon, library, START)
        self.stretches = []     # of each life: probe -> (time, (temperature, humidity))
        self.looks, self.waiting, self.lives = [], 0, 0
        self.end_at = START + days * 86400
        lives = max(3, days // 10)
        self.lives_at = [START + 86400 * days / 4 * i / lives for i in range(1, lives)]
        self.away = (START + 0.12 * days * 86400, START + 0.22 * days * 86400)
        self.silent_until = 0.0

    def path(self, name):
        return '%s/state/%s' % (self.work, name)

    def outbox(self):
        return sum(name.endswith('.json') for name in os.listdir(self.path('outbox')))

    def begin(self):
        self.lives += 1
        self.stretches.append({probe: [] for probe in self.board.values})
        self.board.port.unplug()
        self.board.port.plug()
        self.paced.begin()
        self.paced.step(self.paced.now + 2)
        self.paced.step(self.paced.now, [(self.board.port, '\n')])

    def deliver(self):
        """Real time passes, for the courier and the receiver."""
        until = time.monotonic() + 20
        while self.hook.process and self.outbox() and time.monotonic() < until:
            time.sleep(0.005)

    def poll(self):
        now = self.paced.now + self.every * self.rng.uniform(0.9, 1.1)
        if now > self.silent_until and self.rng.random() < 0.005:
            self.silent_until = now + self.rng.uniform(2, 60) * self.every
        lines = []
        if now > self.silent_until:
            values = self.board.move()
            lines = self.board.lines(values)
            for probe, pair in values.items():
                self.stretches[-1][probe].append((now, pair))
        self.paced.step(now, lines)
        self.paced.settle()
        self.waiting = max(self.waiting, self.outbox())
        self.deliver()

    def look(self):
        pid = self.paced.process.pid
        young = self.paced.children()
        who = {'watcher': pid}
        for child in young:
            who['archivist' if is_archivist(child) else 'courier'] = child
        look = {'at': self.paced.now}
        for name, number in who.items():
            look[name + ' KiB'], look[name + ' descriptors'] = cost(number)
        for name in ('standing.json', 'now.json', 'alerts.jsonl', 'bands.jsonl'):
            look[name] = os.path.getsize(self.path(name))
        look['files'] = sum(len(files) for _, _, files in os.walk(self.path('')))
        self.looks.append(look)

    def run(self):
        self.begin()
        looked = START
        while self.paced.now < self.end_at:
            self.hook.be(not self.away[0] <= self.paced.now < self.away[1])
            self.poll()
            if self.paced.now >= looked + LOOK:
                looked = self.paced.now
                self.look()
            if self.lives_at and self.paced.now >= self.lives_at[0]:
                self.lives_at.pop(0)
                self.paced.end()
                self.paced.now += self.rng.uniform(60, 3600)
                self.begin()
        for _ in range(60):
            if not self.outbox():
                break
            self.poll()
        self.paced.end()
        self.hook.be(False)


# ---- what must be -------------------------------------------------------------------

def flat(soak):
    """Faults, and a table of what was looked at."""
    faults = []
    span = soak.days * 86400
    quarter = [[], [], [], []]
    for look in soak.looks:
        quarter[min(3, int(4 * (look['at'] - START) / span))].append(look)
    print('%-22s %10s %10s %10s %10s' % ('', 'first', '2nd quarter', 'last', 'largest'))
    for key in soak.looks[-1]:
        if key == 'at':
            continue
        values = [[look[key] for look in part if key in look] for part in quarter]
        second, last = statistics.median(values[1]), statistics.median(values[3])
        print('%-22s %10d %10d %10d %10d' %
              (key, values[0][0], second, last, max(sum(values, []))))
        if key == 'standing.json':
            if max(sum(values, [])) > STANDING_MOST:
                faults.append('standing.json was %d bytes' % max(sum(values, [])))
        elif key not in ('alerts.jsonl', 'bands.jsonl') and last > second * GROWTH + (
                SETTLING if key.endswith('KiB') and soak.days < SHORT else
                OPEN_NOW if key.endswith('descriptors') else 0):
            faults.append('%s grows: %d in the second quarter, %d in the last' %
                          (key, second, last))
    return faults


def totals(soak, report):
    """Of the days that have minute rows, ten-minute rows and hour rows."""
    faults = []
    end = int(soak.paced.now) // 3600 * 3600 - 3600
    windows = [('minutes', max(START + 3600, end - 5 * 86400), end)]
    if soak.days > 12:
        windows.append(('ten minutes', max(START + 3600, end - 60 * 86400), end))
    if soak.days > 100:
        windows.append(('hours', START + 3600, end))
    for name, begin, end in windows:
        text = subprocess.run([report, '-c', soak.work + '/room.conf', 'totals', '--from',
                               str(begin), '--to', str(end), '--format', 'json'], check=True,
                              capture_output=True, text=True).stdout
        found = {(e['name'], p['place'], p['quantity']): p for e in json.loads(text)['enclosures']
                 for p in e['places']}
        worst = 0.0
        for (enclosure, ds), (probe, column, day, night) in SERIES.items():
            band = truth.Band(day, night, HOURS, CHANGEOVER, begin, end)
            parts = [truth.totals([(t, v[column]) for t, v in stretch[probe]], soak.every, band,
                                  begin, end) for stretch in soak.stretches]
            key = (enclosure, PLACES[ds[:4]], ('temperature', 'humidity')[column])
            # Means of ten minutes and of hours are of what is known of them.
            bad, far = truth.compare(found[key], truth.together(parts, begin, end), 0.01, 0.001,
                                     0.001 if name == 'minutes' else None,
                                     '%s %s' % (name, ' '.join(key)))
            faults += bad
            worst = max(worst, far['seconds'])
        print('%s: %d series over %.0f days, largest error %.6f s' %
              (name, len(SERIES), (end - begin) / 86400, worst))
    return faults


def main():
    work, daemon, library, days, every, seed, report, partner = sys.argv[1:9]
    soak = Soak(work, daemon, library, int(days), int(every), int(seed), partner)
    try:
        soak.run()
    finally:
        if soak.hook.process:
            soak.hook.end()
        if soak.paced.process and soak.paced.process.poll() is None:
            send(soak.paced.process.pid)
    with open(soak.path('alerts.jsonl')) as file:
        records = [json.loads(line) for line in file]
    raised = sum(r['event'] == 'raised' for r in records)
    told = {r['message'] for r in records if r['message']}
    left = soak.outbox()
    print('%s days in %d lives: %d records, %d alerts raised, %d messages; %d messages in the '
          'outbox at most, %d in the end' %
          (days, soak.lives, len(records), raised, len(told), soak.waiting, left))
    faults = flat(soak) + totals(soak, report)
    if left or soak.waiting > MOST_WAITING or not raised:
        faults.append('the outbox is not what it should be')
    for text in faults:
        print('FAULT:', text)
    sys.exit(bool(faults))


main()
