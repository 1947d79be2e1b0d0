# SPDX-License-Identifier: GPL-3.0-or-later
"""Mistings found, against those that took place.

mistings.py LIST.json FOUND DAYS
    LIST: what `roomsim record --list` writes.  FOUND: what find_mistings prints.
    Of the mistings that moisten the air (not the ground alone) 95 % must be found
    at each cool side (all but one, when there are few), and at no place more than
    one a week besides.  Elsewhere they may stay hidden: a humid hide shares
    little of them, and a lamp that has just come on lowers the humidity meanwhile.
"""

import collections
import json
import sys

FOUND_SHARE = 0.95
FALSE_A_WEEK = 1
EARLY, LATE = 600, 1500     # s from the misting to what is found: a row, and a slow rise
TOGETHER = 45 * 60          # s: two that close are one (report/mistings.c)

list_path, found_path, days = sys.argv[1:]
weeks = float(days) / 7
took_place = collections.defaultdict(list)
for misting in json.load(open(list_path))['mistings']:
    times = took_place[misting['enclosure']]
    if misting['film'] > 0 and (not times or misting['time'] > times[-1] + TOGETHER):
        times.append(misting['time'])

found = {}
for line in open(found_path):
    name, place, *time = line.split()
    found.setdefault((name, place), []).extend(float(t) for t in time)

bad = False
all_count = all_missed = 0
for (name, place), times in found.items():
    left = list(times)
    missed = 0
    for at in took_place[name]:
        match = next((t for t in left if -EARLY <= t - at <= LATE), None)
        if match is None:
            missed += 1
        else:
            left.remove(match)
    count = len(took_place[name])
    wrong = len(left) / weeks > FALSE_A_WEEK or \
        place == 'cool_side' and missed > max(1, (1 - FOUND_SHARE) * count)
    bad = bad or wrong
    if place == 'cool_side':
        all_count += count
        all_missed += missed
    print('%s %s: %d of %d found, %.2f a week besides%s' %
          (name, place, count - missed, count, len(left) / weeks, '  <- WRONG' if wrong else ''))
print('cool sides: %.1f %% of %d found' % (100 * (1 - all_missed / all_count), all_count))
bad = bad or all_missed > (1 - FOUND_SHARE) * all_count
assert sum(len(times) for times in took_place.values()) > 10 * float(days)
assert sum(place == 'cool_side' for _, place in found) == 11, found.keys()
sys.exit(bad)
