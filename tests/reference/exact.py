# SPDX-License-Identifier: GPL-3.0-or-later
"""Makes a recording and its configuration, or compares `warmside totals` with
the truth about it.

    exact.py make SEED DAYS FOLDER      room.csv and room.conf
    exact.py check SEED DAYS FOLDER REPORT
"""

import json
import os
import random
import subprocess
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import truth  # noqa: E402

START = 1767225600 + 23 * 60 + 17   # not on an hour
BANDS = {
    ('A', 'warm_side', 'temperature'): ('w1', 60, (27, 31), (23, 29)),
    ('A', 'cool_side', 'temperature'): ('c1', 300, (24, 27), (21, 25)),
    ('A', 'cool_side', 'humidity'): ('c1', 300, (45, 60), (45, 65)),
    ('B', 'humid_hide', 'temperature'): ('h1', 120, (25, 28), (22, 26)),
    ('B', 'humid_hide', 'humidity'): ('h1', 120, (70, 90), (65, 95)),
}
HOURS, CHANGEOVER = (7 * 3600 + 1800, 19 * 3600 + 2700), 5400


def configuration(folder):
    def rule(day, night, unit):
        return 'day = "%g..%g %s"  night = "%g..%g %s"' % (*day, unit, *night, unit)

    def places(name):
        text = ''
        for place in ('warm_side', 'cool_side', 'humid_hide'):
            here = {q: b for (e, p, q), b in BANDS.items() if (e, p) == (name, place)}
            if not here:
                continue
            text += '  %s { probe = "%s"\n' % (place, next(iter(here.values()))[0])
            for quantity, (_, _, day, night) in here.items():
                text += '    %s { %s }\n' % (
                    quantity, rule(day, night, 'C' if quantity == 'temperature' else '%'))
            text += '  }\n'
        return text

    return '''# made for a test
state = "%s/state"
day { from = "07:30"  to = "19:45"  changeover = "90min" }
bus "one" { port = "/dev/none1"  speaks = "lines"  line = "{probe},{temperature},{humidity}"  every = "60s" }
bus "two" { port = "/dev/none2"  speaks = "lines"  line = "{probe},{temperature},{humidity}"  every = "2min" }
bus "three" { port = "/dev/none3"  speaks = "lines"  line = "{probe},{temperature},{humidity}"  every = "5min" }
probe "w1" { bus = "one" }
probe "h1" { bus = "two" }
probe "c1" { bus = "three" }
enclosure "A" {
%s}
enclosure "B" {
%s}
''' % (folder, places('A'), places('B'))


def walk(seed, probe, every, days):
    """A probe's readings: irregular steps, drifting values, outages."""
    rng = random.Random('%d-%s' % (seed, probe))
    t = START + rng.uniform(0, every)
    temperature, humidity = rng.uniform(23, 29), rng.uniform(45, 80)
    end = START + days * 86400
    rows = []
    while t < end:
        rows.append((round(t, 3), round(temperature, 2), round(humidity, 2)))
        temperature += rng.gauss(0, 0.15) + (26 - temperature) * 0.004
        humidity += rng.gauss(0, 0.6) + (62 - humidity) * 0.002
        humidity = min(max(humidity, 5), 99)
        chance = rng.random()
        if chance < 0.0004:
            t += rng.uniform(3.01, 400) * every     # an outage
        elif chance < 0.01:
            t += rng.uniform(1.5, 2.99) * every     # polls missed, still joined
        else:
            t += every * rng.uniform(0.8, 1.2)
    return rows


def recording(seed, days):
    probes = {p: e for (p, e, _, _) in BANDS.values()}
    return {probe: walk(seed, probe, every, days) for probe, every in probes.items()}


def make(seed, days, folder):
    with open(folder + '/room.conf', 'w') as out:
        out.write(configuration(folder))
    rows = [(t, probe, a, b) for probe, list_ in recording(seed, days).items()
            for t, a, b in list_]
    rows.sort()
    with open(folder + '/room.csv', 'w') as out:
        out.write('time,probe,temperature,humidity\n')
        for t, probe, a, b in rows:
            out.write('%.3f,%s,%.2f,%.2f\n' % (t, probe, a, b))
    print('%d readings of %d probes over %d days' % (len(rows), len(set(r[1] for r in rows)), days))


def windows(days):
    """Windows on row edges, one for each row size (10 d, 90 d and all)."""
    end = (START + days * 86400) // 3600 * 3600
    first = START // 3600 * 3600 + 3600
    yield 'minutes', end - 5 * 86400 + 60 * 7, end - 60 * 11
    if days > 11:
        yield 'ten minutes', max(end - 60 * 86400, first) + 600, end - 1200
    if days > 91:
        yield 'hours', first, end


def check(seed, days, folder, report):
    readings = recording(seed, days)
    faults, worst = [], {}
    for name, begin, end in windows(days):
        text = subprocess.run([report, '-c', folder + '/room.conf', 'totals', '--from',
                               str(begin), '--to', str(end), '--format', 'json'],
                              check=True, capture_output=True, text=True).stdout
        got = json.loads(text)
        assert (got['from'], got['to']) == (begin, end), got
        for enclosure in got['enclosures']:
            for found in enclosure['places']:
                key = (enclosure['name'], found['place'], found['quantity'])
                if key not in BANDS:
                    continue
                probe, every, day, night = BANDS[key]
                column = 1 if key[2] == 'temperature' else 2
                series = [(row[0], row[column]) for row in readings[probe]]
                band = truth.Band(day, night, HOURS, CHANGEOVER, begin, end)
                true = truth.totals(series, every, band, begin, end)
                bad, far = truth.compare(found, true, 1.0, 0.01,
                                         None if name == 'hours' else 0.05,
                                         '%s %s' % (name, ' '.join(key)))
                faults += bad
                for kind, error in far.items():
                    worst[kind] = max(worst.get(kind, 0), error)
                four = sum(found[k] for k in ('low_seconds', 'high_seconds', 'inside_seconds',
                                              'unknown_seconds'))
                if abs(four - (end - begin)) > 1e-6:
                    faults.append('%s %s: the four times make %r of %r' %
                                  (name, key, four, end - begin))
        print('%s: %d series, largest errors so far %.6f s, %.6f K h or %% h' %
              (name, len(BANDS), worst['seconds'], worst['degree_hours']))
    for fault in faults:
        print(fault)
    return 1 if faults else 0


if __name__ == '__main__':
    task, seed, days, folder = sys.argv[1], int(sys.argv[2]), int(sys.argv[3]), sys.argv[4]
    if task == 'make':
        make(seed, days, folder)
    else:
        sys.exit(check(seed, days, folder, sys.argv[5]))
