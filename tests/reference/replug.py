# SPDX-License-Identifier: GPL-3.0-or-later
"""Unplugs a port of a watching warmsided and plugs it in again, many times, each
time under another name behind its link, while another port stays.

    replug.py WORK DAEMON LIBRARY TIMES REPORT

Readings go on with the first line the port says of which all was heard; each is
counted; the other port misses none.  Gaps of up to 3 polls cost nothing, longer
ones are unknown time to the second.  One in 250 is longer than silence is
borne: that, and nothing else, is told, once.  The watcher's own memory and its
descriptors stay what they were.
"""

import collections
import json
import subprocess
import sys

import truth
from paced import Paced, Port, cost

START = 1767571200 + 120
EVERY = 10              # s
LONG_EACH, LONG = 250, 1500 # s; silent is told after 600, three times in an hour chatter
LOOK_EACH = 10          # replugs
LOOK_AGAIN = 2          # s between two looks for a lost port
BAND = (24.0, 26.0)
GROWTH = 1.05
OPEN_NOW = 1            # descriptors: the file of what is gathered is open while it is appended to

CONFIGURATION = '''state = "%(work)s/state"
archive { minutes = "30d"  ten_minutes = "30d"  hours = "30d" }
bus "board" { port = "%(work)s/board"  speaks = "lines"  line = "{probe} {temperature}"  every = "10s" }
bus "still" { port = "%(work)s/still"  speaks = "lines"  line = "{probe} {temperature}"  every = "10s" }
probe "b" { bus = "board" }
probe "s" { bus = "still" }
enclosure "B" { warm_side { probe = "b"  temperature { day = "24..26 C"  patience = "1d" } } }
enclosure "S" { warm_side { probe = "s"  temperature { day = "24..26 C"  patience = "1d" } } }
'''


class Trial:
    def __init__(self, work, daemon, library):
        self.work = work
        with open(work + '/room.conf', 'w') as out:
            out.write(CONFIGURATION % {'work': work})
        self.ports = {name: Port('%s/%s' % (work, name)) for name in ('board', 'still')}
        self.paced = Paced(work, daemon, library, START)
        self.readings, self.number = {'b': [], 's': []}, 0
        self.costs, self.silences, self.names = [], 0, set()

    def say(self, *probes, after):
        """A reading of each, so many s later."""
        now, lines = self.paced.now + after, []
        for probe in probes:
            self.number += 1
            value = 23.4 + self.number * 7 % 32 / 10
            self.readings[probe].append((now, value))
            lines.append((self.ports['board' if probe == 'b' else 'still'],
                          '%s %.1f\n' % (probe, value)))
        self.paced.step(now, lines)

    def begin(self):
        self.paced.begin()
        self.paced.step(self.paced.now, [(port, '\n') for port in self.ports.values()])
        self.say('b', 's', after=1)

    def replug(self, number):
        self.ports['board'].unplug()
        self.say('s', after=3)
        if number % LONG_EACH == LONG_EACH - 1:
            self.silences += 1
            for _ in range(LONG // EVERY):
                self.say('s', after=EVERY)
        self.ports['board'].plug(other_name=number % 2)
        self.names.add(self.ports['board'].name())
        self.paced.step(self.paced.now + LOOK_AGAIN)
        self.paced.step(self.paced.now, [(self.ports['board'], '\n')])
        self.say('b', 's', after=5)
        if number % LOOK_EACH == 0:
            self.costs.append(cost(self.paced.process.pid))


def fault_of_counts(trial):
    with open(trial.work + '/state/now.json') as file:
        now = json.load(file)
    read = {p['name']: p['read'] for p in now['probes']}
    said = {name: len(list_) for name, list_ in trial.readings.items()}
    print('readings said %s, counted %s' % (said, read))
    if said != read:
        yield 'readings are missing'


def fault_of_totals(trial, report):
    begin, end = START // 3600 * 3600, (int(trial.paced.now) // 3600 + 1) * 3600
    text = subprocess.run([report, '-c', trial.work + '/room.conf', 'totals', '--from', str(begin),
                           '--to', str(end), '--format', 'json'], check=True,
                          capture_output=True, text=True).stdout
    for enclosure in json.loads(text)['enclosures']:
        readings = trial.readings[enclosure['name'].lower()]
        band = truth.Band(BAND, BAND, (8 * 3600, 20 * 3600), 5400, begin, end)
        true = truth.totals(readings, EVERY, band, begin, end)
        found = next(p for p in enclosure['places'] if p['quantity'] == 'temperature')
        bad, far = truth.compare(found, true, 0.01, 0.001, 0.001, enclosure['name'])
        print('%s: %.0f s known, %.0f s unknown, largest error %.6f s' %
              (enclosure['name'], end - begin - true['unknown_seconds'],
               true['unknown_seconds'], far['seconds']))
        yield from bad


def fault_of_alerts(trial):
    with open(trial.work + '/state/alerts.jsonl') as file:
        events = collections.Counter((r['event'], r['enclosure'], r['condition'])
                                     for r in map(json.loads, file))
    print('%d long gaps; told: %s' % (trial.silences, dict(events)))
    expected = {('raised', 'B', 'silent'): trial.silences,
                ('cleared', 'B', 'silent'): trial.silences}
    if dict(events) != {k: n for k, n in expected.items() if n}:
        yield 'other alerts than one for each long gap'


def fault_of_growth(trial):
    early, late = trial.costs[len(trial.costs) // 4], trial.costs[-1]
    print('the watcher: %d KiB and %d descriptors after a quarter, %d and %d in the end' %
          (early + late))
    if late[1] > early[1] + OPEN_NOW or late[0] > early[0] * GROWTH:
        yield 'the watcher grows'


def main():
    work, daemon, library, times, report = sys.argv[1:6]
    trial = Trial(work, daemon, library)
    trial.begin()
    for number in range(int(times)):
        trial.replug(number)
    for _ in range(60): # until the last silence is over, and now.json written anew
        trial.say('b', 's', after=EVERY)
    trial.paced.end()
    print('unplugged %s times, %d names' % (times, len(trial.names)))
    faults = [*fault_of_counts(trial), *fault_of_totals(trial, report), *fault_of_alerts(trial),
              *fault_of_growth(trial)]
    for text in faults:
        print('FAULT:', text)
    sys.exit(bool(faults))


main()
