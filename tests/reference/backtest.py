# SPDX-License-Identifier: GPL-3.0-or-later
"""Forecasts against what came.

backtest.py FOUND...
    FOUND: what tests/backtest prints.  The 80 % interval covers a truth that lies in it, and
    one beyond the horizon when the interval reaches the horizon.  Left out and counted apart are
    enclosures that were below the band already at the fork, where nothing is to be foretold.
    Those of which nobody doubted that they hold (the whole interval beyond the horizon) are in,
    and the coverage without them must be as good, because they are easily right.
"""

import argparse
import collections
import math

parser = argparse.ArgumentParser()
parser.add_argument('found', nargs='+')
parser.add_argument('--low', type=float, default=0)
parser.add_argument('--high', type=float, default=100)
parser.add_argument('--error', type=float, default=math.inf, help='h: the median, at most')
parser.add_argument('--least', type=int, default=1, help='forecasts')
asked = parser.parse_args()


class Tally:
    def __init__(self):
        self.count = self.covered = self.already = self.sure = self.sure_covered = 0
        self.early = self.late = self.wide = 0
        self.errors = []
        self.widths = []

    def add(self, truth, low, median, high):
        if truth == 0:
            self.already += 1
            return
        covered = low <= truth <= high
        self.count += 1
        self.covered += covered
        self.early += truth < low
        self.late += truth > high
        if low == math.inf:
            self.sure += 1
            self.sure_covered += covered
        if truth < math.inf:
            self.errors.append(abs(median - truth))
            self.widths.append(high - low if high < math.inf else math.inf)

    def share(self):
        return 100 * self.covered / max(self.count, 1)

    def doubted(self):
        return 100 * (self.covered - self.sure_covered) / max(self.count - self.sure, 1)

    def error(self):
        return sorted(self.errors)[len(self.errors) // 2] if self.errors else math.nan

    def __str__(self):
        width = sorted(self.widths)[len(self.widths) // 2] if self.widths else math.nan
        return ('%4d forecasts, %5.1f %% covered (came before %d, after %d); %5.1f %% of the %d in '
                'doubt; median error %.1f h of %d that came, median width %.1f h; %d below already' %
                (self.count, self.share(), self.early, self.late, self.doubted(),
                 self.count - self.sure, self.error(), len(self.errors), width, self.already))


leaves, passes, used_up = collections.defaultdict(Tally), Tally(), Tally()
seconds = []
for path in asked.found:
    for line in open(path):
        time, name, build, *told = line.split()
        assert told[0] != 'unknown', line
        triple = [[float(value) for value in part.split(',')] for part in told[:3]]
        for key in name, 'each ' + build, 'in all':
            leaves[key].add(*triple[0])
        passes.add(*triple[1])
        used_up.add(*triple[2])
        seconds.append(float(told[3]))
for key in sorted(leaves, key=lambda key: (key == 'in all', 'each' in key, key)):
    print('leaves its band, %-14s %s' % (key, leaves[key]))
print('passes 5 %% below it,           %s' % passes)
print('its patience is used up,      %s' % used_up)
print('processor time of one: %.3f s at most, %.3f s mean' %
      (max(seconds), sum(seconds) / len(seconds)))
whole = leaves['in all']
# An animal is harmed by what came before the interval, not by what came after it.
assert whole.early <= 0.15 * whole.count or whole.count < 200, 'too much comes before it is foretold'
assert used_up.share() >= asked.low, 'patience is used up at other times'
assert whole.count >= asked.least, 'too few forecasts'
for share in whole.share(), whole.doubted():
    assert asked.low <= share <= asked.high, 'the interval is not of 80 %'
assert whole.error() <= asked.error, 'the median is off'
