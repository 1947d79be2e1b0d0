# SPDX-License-Identifier: GPL-3.0-or-later
"""Many days of a recording through warmsided --replay in pieces, each of which goes
on where the last ended: does it grow, and are the totals exact in the end?

    soakpieces.py WORK DAEMON DAYS PIECES SEED REPORT PARTNER_HOOK

The rooms are exact.py's, with mistings, open doors and a heater that fails for days
besides.  Between two pieces the daemon is away for minutes to hours.  From 100 days
on the messages are posted to a receiver that is away for a tenth of the pieces.
What the watcher holds at most and its descriptors must be in the last quarter of the
pieces what they were in the second; the outbox is empty in the end.  Prints figures, exits 1 at a fault.
"""

import json
import os
import random
import statistics
import subprocess
import sys
import time

import exact
import truth
from paced import cost
from soakhook import Receiver

POSTED = 100            # days from which messages are posted
GROWTH = 1.05
SLACK = 2048            # KiB: what waits for an archivist that a busy machine holds up
MORE = 4                # descriptors: looks meet children being born or not


def mishaps(rng, rows):
    """Mistings that dry off, doors, a heater that is cold for a day or two.  Nothing
    leaps by what a probe may not whose last answers were few (gate.h)."""
    moist, cold, cold_until, heater = 0.0, 0.0, 0.0, 0.0
    out, before = [], rows[0][0]
    for t, temperature, humidity in rows:
        passed, before = t - before, t
        moist *= 0.5 ** (passed / 7200)
        cold *= 0.5 ** (passed / 1200)
        if rng.random() < passed / 43200:
            moist = min(moist + rng.uniform(5, 10), 12)
        if rng.random() < passed / 86400:
            cold = min(cold + rng.uniform(1, 2), 2)
        if rng.random() < passed / (20 * 86400):
            cold_until = t + rng.uniform(6, 48) * 3600
        heater += ((3 if t < cold_until else 0) - heater) * (1 - 0.5 ** (passed / 3600))
        out.append((t, round(temperature - cold - heater, 2),
                    round(min(humidity + moist, 99), 2)))
    return out


def pieces_of(days, count, seed):
    """[probe -> rows], cut at moments between which nobody watches."""
    rng = random.Random(seed)
    whole = {probe: mishaps(rng, rows) for probe, rows in exact.recording(seed, days).items()}
    pieces, begin = [], exact.START
    for i in range(1, count + 1):
        end = exact.START + days * 86400 * i / count
        pieces.append({probe: [row for row in rows if begin <= row[0] < end]
                       for probe, rows in whole.items()})
        begin = end + rng.choice((60, 600, 4 * 3600)) * rng.uniform(1, 2)
    return pieces


def write(piece, path):
    rows = sorted((t, probe, a, b) for probe, some in piece.items() for t, a, b in some)
    with open(path, 'w') as out:
        out.write('time,probe,temperature,humidity\n')
        out.writelines('%.3f,%s,%.2f,%.2f\n' % row for row in rows)
    return len(rows)


def most_held(process):
    """The most that the watcher holds while it works."""
    most = {'watcher KiB': 0, 'watcher descriptors': 0}
    while process.poll() is None:
        try:
            for key, value in zip(most, cost(process.pid)):
                most[key] = max(most[key], value)
        except (OSError, ValueError):
            pass                # it is over
        time.sleep(0.02)
    return most


def replay(work, daemon, pieces, receiver):
    looks, rows = [], 0
    for number, piece in enumerate(pieces):
        if receiver:
            receiver.be(number % 10 != 3)
        rows += write(piece, work + '/piece.csv')
        with open(work + '/replay.out', 'w') as out, open(work + '/replay.err', 'a') as errors:
            process = subprocess.Popen(
                [daemon, '-c', work + '/room.conf', '--replay', work + '/piece.csv'] +
                (['--post'] if receiver else []), stdout=out, stderr=errors)
            look = most_held(process)
        if process.returncode != 0:
            sys.exit('piece %d ended with %d' % (number, process.returncode))
        for name in ('standing.json', 'now.json', 'alerts.jsonl', 'bands.jsonl'):
            look[name] = os.path.getsize('%s/state/%s' % (work, name))
        look['outbox'] = sum(name.endswith('.json')
                             for name in os.listdir(work + '/state/outbox')) if receiver else 0
        looks.append(look)
    print('%d rows in %d pieces' % (rows, len(pieces)))
    return looks


def flat(looks):
    faults = []
    n = len(looks)
    print('%-22s %10s %10s %10s %10s' % ('', 'first', '2nd quarter', 'last', 'largest'))
    for key in looks[-1]:
        values = [look[key] for look in looks]
        second = statistics.median(values[n // 4:n // 2])
        last = statistics.median(values[-(n // 4):])
        print('%-22s %10d %10d %10d %10d' % (key, values[0], second, last, max(values)))
        slack = SLACK if key.endswith('KiB') else MORE
        if key.endswith(('KiB', 'descriptors')) and last > second * GROWTH + slack:
            faults.append('%s grows: %d, then %d' % (key, second, last))
    if looks[-1]['outbox']:
        faults.append('%d messages are left' % looks[-1]['outbox'])
    return faults


def totals(work, report, days, pieces):
    faults = []
    for name, begin, end in exact.windows(days):
        text = subprocess.run([report, '-c', work + '/room.conf', 'totals', '--from', str(begin),
                               '--to', str(end), '--format', 'json'], check=True,
                              capture_output=True, text=True).stdout
        found = {(e['name'], p['place'], p['quantity']): p for e in json.loads(text)['enclosures']
                 for p in e['places']}
        worst = 0.0
        for key, (probe, every, day, night) in exact.BANDS.items():
            column = 1 if key[2] == 'temperature' else 2
            band = truth.Band(day, night, exact.HOURS, exact.CHANGEOVER, begin, end)
            parts = [truth.totals([(row[0], row[column]) for row in piece[probe]], every, band,
                                  begin, end) for piece in pieces]
            bad, far = truth.compare(found[key], truth.together(parts, begin, end), 0.01, 0.001,
                                     None, '%s %s' % (name, ' '.join(key)))
            faults += bad
            worst = max(worst, far['seconds'])
        print('%s: %d series over %.0f days, largest error %.6f s' %
              (name, len(exact.BANDS), (end - begin) / 86400, worst))
    return faults


def main():
    work, daemon, days, count, seed, report, partner = sys.argv[1:8]
    days, receiver = int(days), None
    text = exact.configuration(work)
    if days >= POSTED:
        receiver = Receiver(partner, work)
        text += 'webhook "phone" { endpoint = "http://127.0.0.1:%s/hook" }\n' % receiver.port
    with open(work + '/room.conf', 'w') as out:
        out.write(text)
    pieces = pieces_of(days, int(count), int(seed))
    try:
        looks = replay(work, daemon, pieces, receiver)
    finally:
        if receiver:
            receiver.be(False)
    with open(work + '/state/alerts.jsonl') as file:
        raised = sum('"event":"raised"' in line for line in file)
    print('%d alerts raised' % raised)
    faults = flat(looks) + totals(work, report, days, pieces)
    if not raised:
        faults.append('nothing was raised')
    for text in faults:
        print('FAULT:', text)
    sys.exit(bool(faults))


main()
