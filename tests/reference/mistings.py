# SPDX-License-Identifier: GPL-3.0-or-later
"""Mistings found, against those that took place.

mistings.py LIST.json FOUND DAYS
    LIST: what `roomsim record --list` writes.  FOUND: what find_mistings prints.
    Of the mistings that moisten the air (not the ground alone) 95 % must be found
    at each cool side (all but one, when there are few), and at no place more than
    one a week besides.  Elsewhere they may stay hidden: a humid hide shares
    little of them, and a lamp that has just come on lowers the humidity meanwhile.

    A probe that was sprayed must not hide them either: of those too, 95 % at the
    cool sides.  At the cool sides the humidity before and at the top of the others
    is the truth but for 2 % and 3 % in nine of ten, and the number of a day the true one
    on 95 of 100 days.
"""

import collections
import json
import sys

FOUND_SHARE = 0.95
FALSE_A_WEEK = 1
EARLY, LATE = 600, 1500     # s from the misting to what is found: a row, and a slow rise
TOGETHER = 45 * 60          # s: two that close are one (report/mistings.c)
DAY = 86400
SIZED_SHARE, BEFORE_OFF, TOP_OFF = 0.9, 2, 3    # %: of the sizes
DAYS_SHARE = 0.95


class Tally:
    """Of the cool sides together."""

    def __init__(self):
        self.count = self.missed = self.wet = self.wet_missed = 0
        self.before, self.top = [], []
        self.days = self.days_right = 0

    def take(self, misting, found):
        wet = 'cool_side' in misting['wet']
        self.count += 1
        self.missed += not found
        self.wet += wet
        self.wet_missed += wet and not found
        if found and not wet:
            self.before.append(found[1] - misting['from'])
            self.top.append(found[2] - misting['to'])

    def take_days(self, mistings, found):
        for_day = lambda times: collections.Counter(int(t // DAY) for t in times)
        there, here = for_day(m['time'] for m in mistings), for_day(f[0] for f in found)
        self.days += round(days)
        self.days_right += round(days) - sum(there[day] != here[day] for day in set(there) | set(here))

    def is_right(self):
        right = self.missed <= (1 - FOUND_SHARE) * self.count
        right = right and self.wet_missed <= max(1, (1 - FOUND_SHARE) * self.wet)
        print('cool sides: %.1f %% of %d found; with a wet probe %d of %d' %
              (100 * (1 - self.missed / self.count), self.count, self.wet - self.wet_missed, self.wet))
        for what, off, tolerable in (('before', self.before, BEFORE_OFF), ('top', self.top, TOP_OFF)):
            off.sort()
            within = sum(abs(x) <= tolerable for x in off) / len(off)
            print('  %s: %+.1f %% in the middle, %+.1f..%+.1f in nine of ten; %.1f %% of them within %g' %
                  (what, off[len(off) // 2], off[len(off) // 20], off[-1 - len(off) // 20],
                   100 * within, tolerable))
            right = right and within >= SIZED_SHARE
        print('  the number of a day is right on %.1f %% of %d days' %
              (100 * self.days_right / self.days, self.days))
        return right and self.days_right >= DAYS_SHARE * self.days


list_path, found_path, days = sys.argv[1], sys.argv[2], float(sys.argv[3])
took_place = collections.defaultdict(list)
for misting in json.load(open(list_path))['mistings']:
    some = took_place[misting['enclosure']]
    if misting['film'] > 0 and (not some or misting['time'] > some[-1]['time'] + TOGETHER):
        some.append(misting)

found = {}
for line in open(found_path):
    name, place, *numbers = line.split()
    some = found.setdefault((name, place), [])
    if numbers:
        some.append(tuple(map(float, numbers)))

bad = False
tally = Tally()
for (name, place), some in found.items():
    left = list(some)
    missed = 0
    for misting in took_place[name]:
        match = next((f for f in left if -EARLY <= f[0] - misting['time'] <= LATE), None)
        if match:
            left.remove(match)
        missed += not match
        if place == 'cool_side':
            tally.take(misting, match)
    count = len(took_place[name])
    besides = 7 * len(left) / days
    wrong = besides > FALSE_A_WEEK or \
        place == 'cool_side' and missed > max(1, (1 - FOUND_SHARE) * count)
    bad = bad or wrong
    if place == 'cool_side':
        tally.take_days(took_place[name], some)
    print('%s %s: %d of %d found, %.2f a week besides%s' %
          (name, place, count - missed, count, besides, '  <- WRONG' if wrong else ''))
bad = not tally.is_right() or bad
assert sum(len(some) for some in took_place.values()) > 10 * days
assert sum(place == 'cool_side' for _, place in found) == 11, found.keys()
sys.exit(bad)
