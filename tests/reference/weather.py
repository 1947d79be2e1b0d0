# SPDX-License-Identifier: GPL-3.0-or-later
"""Measured air as a recording: the hourly weather of 2013 at three airports
(nycflights13, data-raw/weather.csv, commit 1273c4e, CC0), replayed as three
outdoor enclosures and totalled month by month.

    weather.py make DATA FOLDER         room.csv and room.conf
    weather.py check DATA FOLDER REPORT
"""

import calendar
import csv
import json
import os
import subprocess
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import truth  # noqa: E402

EVERY = 3600
BANDS = {'temperature': ((5, 25), (0, 20)), 'humidity': ((40, 75), (45, 85))}
JUMP = {'temperature': 10, 'humidity': 40}
HOURS, CHANGEOVER = (8 * 3600, 20 * 3600), 5400


def rows(data):
    with open(data, newline='') as file:
        for row in csv.DictReader(file):
            t = calendar.timegm(tuple(int(x) for x in (
                row['time_hour'][0:4], row['time_hour'][5:7], row['time_hour'][8:10],
                row['time_hour'][11:13], 0, 0)))
            yield t, row['time_hour'], row['origin'], row['temp'], row['humid']


def make(data, folder):
    with open(folder + '/room.conf', 'w') as out:
        out.write('state = "%s/state"\n' % folder)
        out.write('bus "air" { port = "/dev/none"  speaks = "lines"  '
                  'line = "{probe},{temperature_f},{humidity}"  every = "1h" }\n')
        for name in ('EWR', 'JFK', 'LGA'):
            out.write('probe "%s" { bus = "air" }\n' % name)
            out.write('enclosure "%s" { build = "table"\n  cool_side { probe = "%s"\n' %
                      (name, name))
            for quantity, unit in (('temperature', 'C'), ('humidity', '%')):
                day, night = BANDS[quantity]
                out.write('    %s { day = "%g..%g %s"  night = "%g..%g %s" }\n' %
                          (quantity, *day, unit, *night, unit))
            out.write('  }\n}\n')
    with open(folder + '/room.csv', 'w') as out:
        out.write('time,probe,temperature_f,humidity\n')
        for t, text, name, f, rh in sorted(rows(data)):
            out.write('%s,%s,%s,%s\n' % (text, name, '' if f == 'NA' else f,
                                         '' if rh == 'NA' else rh))


def months():
    for month in range(1, 13):
        begin = calendar.timegm((2013, month, 1, 0, 0, 0))
        end = calendar.timegm((2013 + month // 12, month % 12 + 1, 1, 0, 0, 0))
        yield '2013-%02d' % month, begin, end


def series_of(data):
    """(station, quantity) -> readings that count."""
    series = {}
    for t, _, name, f, rh in sorted(rows(data)):
        if f != 'NA':
            series.setdefault((name, 'temperature'), []).append((t, (float(f) - 32) * 5 / 9))
        if rh != 'NA':
            series.setdefault((name, 'humidity'), []).append((t, float(rh)))
    dropped = 0
    for key in series:
        series[key], spikes = truth.without_spikes(series[key], EVERY, JUMP[key[1]])
        for t, value in spikes:
            dropped += 1
            print('spike: %s %s at %d, %.1f' % (*key, t, value))
    # The one spike known to be in this data, JFK 2013-05-09T02:00Z.
    assert dropped == 1, dropped
    return series


def check(data, folder, report):
    series = series_of(data)
    faults, cells = [], 0
    for name, begin, end in months():
        got = json.loads(subprocess.run(
            [report, '-c', folder + '/room.conf', 'totals', '--from', str(begin), '--to',
             str(end), '--format', 'json'], check=True, capture_output=True, text=True).stdout)
        for enclosure in got['enclosures']:
            for found in enclosure['places']:
                key = (enclosure['name'], found['quantity'])
                band = truth.Band(*BANDS[key[1]], HOURS, CHANGEOVER, begin, end)
                true = truth.totals(series[key], EVERY, band, begin, end)
                bad, _ = truth.compare(found, true, 1.0, 0.01, 1e-6, '%s %s %s' % (name, *key))
                faults += bad
                cells += len(true)
    print('%d figures compared, %d differ' % (cells, len(faults)))
    for fault in faults:
        print(fault)
    return 1 if faults or cells != 12 * 6 * 6 else 0


if __name__ == '__main__':
    if sys.argv[1] == 'make':
        make(sys.argv[2], sys.argv[3])
    else:
        sys.exit(check(*sys.argv[2:5]))
