# SPDX-License-Identifier: GPL-3.0-or-later
"""Ends a replay again and again before its recording does, goes on with the rest,
and holds the totals against the readings.

    replaystop.py WORK DAEMON DAYS STOPS SEED REPORT

Every other stop is asked for (SIGTERM): the replay says how many rows it took, and
all of them must be in the archives.  The others are SIGKILL: each archive must hold
all there is to know up to its own end, whatever that is, and the recording goes on
from the latest end, as the daemon wants it.  Between an archive's end and the first
reading that goes on nothing is known, and the minute an archive ends in is closed.
"""

import fcntl
import json
import os
import random
import re
import signal
import subprocess
import sys
import time

import exact
import truth
from paced import last_update

ENCLOSURES = sorted({key[0] for key in exact.BANDS})


class Stretch:
    """What one replay took: probe -> rows, and what of it can be in an archive."""

    def __init__(self, rows, since):
        self.rows, self.since, self.until = rows, since, dict(since)


def ends(work):
    """Of the archives, as soon as nobody writes there any more."""
    try:
        lock = open(work + '/state/archive/.lock')
    except FileNotFoundError:
        return dict.fromkeys(ENCLOSURES, 0)
    with lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        return {name: last_update('%s/state/archive/%s.rrd' % (work, name))
                for name in ENCLOSURES}


def by_probe(rows):
    sorted_out = {}
    for t, probe, a, b in rows:
        sorted_out.setdefault(probe, []).append((t, a, b))
    return sorted_out


def replay(work, daemon, rows, what, wait):
    """Whether it came to the end, and how many rows it says it took.  It is stopped
    a while after it has first told something."""
    with open(work + '/rest.csv', 'w') as out:
        out.write('time,probe,temperature,humidity\n')
        out.writelines('%.3f,%s,%.2f,%.2f\n' % row for row in rows)
    with open(work + '/replay.err', 'w+') as errors:
        process = subprocess.Popen([daemon, '-c', work + '/room.conf', '--replay',
                                    work + '/rest.csv'], stdout=subprocess.DEVNULL, stderr=errors)
        if what:
            begun = said(work)
            while process.poll() is None and said(work) == begun:
                time.sleep(0.005)
            time.sleep(wait)
            process.send_signal(what)
        status = process.wait()
        errors.seek(0)
        taken = re.search(r'(\d+) rows replayed', errors.read())
    return status == 0, int(taken.group(1)) if taken else len(rows)


def said(work):
    """How much it has told."""
    try:
        return os.path.getsize(work + '/state/alerts.jsonl')
    except FileNotFoundError:
        return 0


def run(work, daemon, days, stops, seed):
    rng = random.Random(seed)
    rows = sorted((t, probe, a, b) for probe, some in exact.recording(seed, days).items()
                  for t, a, b in some)
    before = time.monotonic()
    stretches, done, faults = [], {'asked': 0, 'killed': 0, 'too late': 0}, []
    last = dict.fromkeys(ENCLOSURES, 0)
    for number in range(stops + 1):
        what = (signal.SIGTERM, signal.SIGKILL)[number % 2] if number < stops else None
        whole, taken = replay(work, daemon, rows, what, rng.choice((0.05, 0.2, 0.8)) * rng.random())
        now = ends(work)
        stretch = Stretch(by_probe(rows[:taken]), last)
        stretch.until = last = now
        stretches.append(stretch)
        done['too late' if whole and what else 'killed' if what == signal.SIGKILL else 'asked'] += \
            bool(what)
        if what != signal.SIGKILL:
            faults += not_all(stretch)
            rows = rows[taken:]
        else:
            rows = [row for row in rows if row[0] >= max(last.values())]
        if not rows:
            break
    print('%d stretches in %.1f s; the end was asked for %d times, killed %d times, too late '
          '%d times' % (len(stretches), time.monotonic() - before, *done.values()))
    return stretches, faults


def not_all(stretch):
    """An archive ends in the minute of its enclosure's last reading, or with the last
    line if that reading stands alone behind a gap."""
    for name in ENCLOSURES:
        mine = {probe: every for (e, _, _), (probe, every, _, _) in exact.BANDS.items()
                if e == name}
        joined = [b[0] for probe, every in mine.items()
                  for a, b in zip(stretch.rows.get(probe, []), stretch.rows.get(probe, [])[1:])
                  if b[0] - a[0] <= 3 * every]
        if joined and not max(joined) <= stretch.until[name] < max(joined) + 60 and \
                stretch.until[name] != stretch.since[name]:
            yield '%s: the archive ends at %d, the readings at %.0f' % (
                name, stretch.until[name], max(joined))


def part(stretch, key, begin, end):
    probe, every, day, night = exact.BANDS[key]
    column = 1 if key[2] == 'temperature' else 2
    first, last = max(begin, stretch.since[key[0]]), min(end, stretch.until[key[0]])
    readings = [(row[0], row[column]) for row in stretch.rows.get(probe, [])]
    if last <= first:
        first = last = begin
    band = truth.Band(day, night, exact.HOURS, exact.CHANGEOVER, begin, end)
    true = truth.totals(readings, every, band, first, last)
    true['unknown_seconds'] += end - begin - (last - first)
    return true


def totals(work, report, days, stretches):
    faults = []
    for name, begin, end in exact.windows(days):
        text = subprocess.run([report, '-c', work + '/room.conf', 'totals', '--from', str(begin),
                               '--to', str(end), '--format', 'json'], check=True,
                              capture_output=True, text=True).stdout
        found = {(e['name'], p['place'], p['quantity']): p for e in json.loads(text)['enclosures']
                 for p in e['places']}
        worst, unknown = 0.0, 0.0
        for key in exact.BANDS:
            true = truth.together([part(s, key, begin, end) for s in stretches], begin, end)
            unknown = max(unknown, true['unknown_seconds'])
            bad, far = truth.compare(found[key], true, 0.01, 0.001, None,
                                     '%s %s' % (name, ' '.join(key)))
            faults += bad
            worst = max(worst, far['seconds'])
        print('%s: %d series over %.0f days, %.0f s unknown at most, largest error %.6f s' %
              (name, len(exact.BANDS), (end - begin) / 86400, unknown, worst))
    return faults


def main():
    work, daemon, days, stops, seed, report = sys.argv[1:7]
    with open(work + '/room.conf', 'w') as out:
        out.write(exact.configuration(work))
    stretches, faults = run(work, daemon, int(days), int(stops), int(seed))
    faults += totals(work, report, int(days), stretches)
    for text in faults[:20]:
        print('FAULT:', text)
    sys.exit(bool(faults))


main()
