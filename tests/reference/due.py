# SPDX-License-Identifier: GPL-3.0-or-later
"""due.py laws CSV UNTIL: dryings.jsonl for a recording of the simulated room.
due.py check CSV ALERTS LEAD FAULT [NAME...]: what was told of mistings due, against what
the probes said afterwards.  NAMEs fall through their edge and must be told in time; others
may graze it.

The laws are those of contrib/roomsim/furnish.c, which simulates by them; the usual
day is the recording's.  An enclosure leaves its band when three means of ten minutes
in a row are below it, and must have been told in the day before.  UNTIL and FAULT (when the mistings begin to be missed) are
seconds since the epoch, LEAD is in hours.
"""

import collections
import json
import sys

# air changes, evaporation, soaked; the band's lower edge, day and night
TUBS = {
    'T1': (0.30, 0.40, 350, 40), 'T2': (0.25, 0.40, 350, 40), 'T3': (0.45, 0.40, 350, 40),
    'T4': (0.30, 0.40, 350, 40), 'P1': (0.35, 0.65, 900, 50), 'M1': (0.40, 0.70, 900, 55),
    'G2': (1.60, 1.60, 1500, 50),
}
OFFSET = {'P1': 3}      # %: what its probe reads too much, and the configuration corrects
HOUR, DAY = 3600, 86400
LATE = 2 * HOUR         # so much later than foretold is still right
NEAR = 1.5              # %: above the edge


def readings(path):
    """time, enclosure, temperature, humidity of each cool side"""
    probes = {name.lower() + 'c': name for name in TUBS}
    with open(path) as rows:
        next(rows)
        for row in rows:
            time, probe, celsius, humidity = row.rstrip('\n').split(',')
            if probe in probes and celsius and humidity:
                name = probes[probe]
                yield float(time), name, float(celsius), float(humidity) - OFFSET.get(name, 0)


def laws(path, until):
    hours = {name: [[] for _ in range(24)] for name in TUBS}
    for time, name, celsius, _ in readings(path):
        if time < until:
            hours[name][int(time // HOUR) % 24].append(celsius)
    for name, (airing, exchange, capacity, _) in TUBS.items():
        print(json.dumps({
            'enclosure': name, 'place': 'cool_side', 'from': until - DAY, 'to': until,
            'known': float(DAY), 'dryings': [],
            'law': {'airing': airing, 'exchange': exchange, 'capacity': float(capacity),
                    'room': True},
            'celsius': [sum(hour) / len(hour) for hour in hours[name]]}))


def means(path):
    sums = collections.defaultdict(lambda: collections.defaultdict(lambda: [0, 0]))
    for time, name, _, humidity in readings(path):
        cell = sums[name][int(time // 600)]
        cell[0] += humidity
        cell[1] += 1
    return {name: {at: s / n for at, (s, n) in sorted(cells.items())}
            for name, cells in sums.items()}


def leavings(row, edge):
    """when it leaves its band, for a new drying each: it has been well inside between"""
    found, out = [], False
    for at in row:
        below = all(row.get(at + i, 100) < edge for i in range(3))
        if below and not out:
            found.append(at * 600)
        out = below or (out and row[at] < edge + 3)
    return found


def check(path, alerts, lead, fault, plain):
    told = collections.defaultdict(list)
    with open(alerts) as lines:
        for record in map(json.loads, lines):
            if record['condition'] == 'misting_due' and record['event'] == 'raised':
                told[record['enclosure']].append(record['time'])
    bad, counts = 0, collections.Counter()
    for name, row in means(path).items():
        edge = TUBS[name][3]
        leaves = leavings(row, edge)
        counts['left'] += len(leaves)
        regular = [at for at in row if at * 600 < fault]
        if min(row[at] for at in regular) > edge + NEAR:
            counts['quiet days'] += round(len(regular) / 144)
            if any(at < fault for at in told[name]):
                print('%s: told, and it never came near its edge' % name)
                bad += 1
        for at in leaves:
            before = [at - t for t in told[name] if -600 < at - t <= DAY]
            timely = [t for t in before if 0 < t <= lead + LATE]
            print('%s left its band %.1f d after the begin of the fault; told %s h before' % (
                name, (at - fault) / DAY, ', '.join('%.1f' % (t / HOUR) for t in before) or 'no'))
            counts['in time'] += bool(timely)
            bad += not before
        if name in plain and not any(0 < at - t <= lead + LATE for at in leaves[:1]
                                     for t in told[name]):
            print('%s: not told in time' % name)
            bad += 1
        for t in told[name]:
            lowest = min(v for at, v in row.items() if t <= at * 600 <= t + lead + LATE)
            counts['told'] += 1
            if lowest >= edge + NEAR:
                print('%s: told, but its lowest is %.1f %%' % (name, lowest))
                bad += 1
    print(', '.join('%s: %d' % item for item in counts.items()))
    # Where the humidity falls a few tenths a day and grazes its edge every morning, a message
    # in time for one morning is early for the next.
    return bad or counts['left'] < 3 or counts['quiet days'] < 14 or \
        3 * counts['in time'] < counts['left']


if sys.argv[1] == 'laws':
    laws(sys.argv[2], float(sys.argv[3]))
else:
    sys.exit(bool(check(sys.argv[2], sys.argv[3], float(sys.argv[4]) * HOUR,
                        float(sys.argv[5]), sys.argv[6:])))
