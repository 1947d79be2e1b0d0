# SPDX-License-Identifier: GPL-3.0-or-later
"""What `warmside drying` tells and saves, looked at from outside.

drying.py took-place ANSWER.json LIST.json FROM TO
    LIST: what `roomsim record --list` writes.  Of the mistings that moisten the air as many
    must be told, but for one in ten, and each number must fit the others.
drying.py same ONE.json OTHER.json
    Two answers about one enclosure have the same dryings, and all that comes of them; not
    the floor, which knows more of the enclosure once something is saved.
drying.py wet LIST.json ANSWER.json...
    Where the probe got wet, a fit is as those of the same enclosure that were not wet.
drying.py parts ALL.json ONE.json OTHER.json
    Of two windows side by side the one has the first mistings of both, the other the rest.
drying.py whole DRYINGS.jsonl
    All lines but torn ones are records; those of an enclosure follow upon each other, and
    no misting is in them twice, and each drying was followed to the next misting.
"""

import collections
import json
import sys

TOGETHER = 45 * 60          # s: two mistings that close are one (report/mistings.c)
MOST, STEP = 7 * 86400, 600 # s: a drying is followed no longer, in such steps


def took_place(answer_path, list_path, begin, end):
    answer = json.load(open(answer_path))
    assert answer['from'] == int(begin) and answer['to'] == int(end)
    days = (answer['to'] - answer['from']) / 86400
    real = collections.defaultdict(list)
    for misting in json.load(open(list_path))['mistings']:
        times = real[misting['enclosure']]
        if misting['film'] > 0 and (not times or misting['time'] > times[-1] + TOGETHER):
            times.append(misting['time'])
    assert len(answer['enclosures']) == 12
    fitted = 0
    for enclosure in answer['enclosures']:
        name, count = enclosure['name'], len(real[enclosure['name']])
        if enclosure['place'] is None:
            assert enclosure['mistings'] is None and enclosure['floor_humidity'] is None
            continue
        assert abs(enclosure['mistings'] - count) <= max(2, 0.1 * count), (name, enclosure, count)
        rate = enclosure['mistings_per_day']
        assert enclosure['mistings'] / days <= rate + 1e-6 < 1.1 * enclosure['mistings'] / days + 1e-5, name
        rejected = sum(enclosure['rejected'].values())
        assert enclosure['fitted'] + rejected == enclosure['mistings'], name
        constant = enclosure['time_constant_hours']
        assert (constant is None) == (enclosure['fitted'] == 0), name
        fitted += enclosure['fitted']
        if constant is None:
            continue
        assert 0.05 < constant['low'] <= constant['median'] <= constant['high'] < 100, (name, constant)
        assert 5 < enclosure['floor_humidity'] < 100, name
        edge = enclosure['hours_to_band_edge']
        if edge and edge['dry_quarter'] is not None and edge['median'] is not None:
            assert 0 <= edge['low'] <= edge['dry_quarter'] <= edge['median'], (name, edge)
    by_name = {e['name']: e for e in answer['enclosures']}
    assert fitted > 80, fitted
    # Furnished so: a screen cage is airier than a tub.
    assert by_name['S1']['time_constant_hours']['median'] < by_name['T2']['time_constant_hours']['median']


def near(one, other):
    if isinstance(one, dict):
        return one.keys() == other.keys() and all(near(one[key], other[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(other) and all(map(near, one, other))
    if isinstance(one, float):
        return isinstance(other, (int, float)) and abs(one - other) <= 2e-6 * max(1, abs(one))
    return one == other


def same(one_path, other_path):
    one, other = (json.load(open(path)) for path in (one_path, other_path))
    for answer in (one, other):
        for enclosure in answer['enclosures']:
            del enclosure['floor_humidity']
    assert one['enclosures'][0]['dryings'], one_path
    # Of a record that is cut what was known is shared out in proportion.
    rates = [answer['enclosures'][0].pop('mistings_per_day') for answer in (one, other)]
    assert abs(rates[0] - rates[1]) < 0.002 * rates[0], rates
    if not near(one, other):
        for a, b in zip(one['enclosures'][0]['dryings'], other['enclosures'][0]['dryings']):
            if not near(a, b):
                print('%s\n%s' % (a, b))
        print({k: v for k, v in one['enclosures'][0].items() if k != 'dryings'},
              {k: v for k, v in other['enclosures'][0].items() if k != 'dryings'})
        sys.exit(1)


def parts(all_path, one_path, other_path):
    times = [[drying['time'] for drying in json.load(open(path))['enclosures'][0]['dryings']]
             for path in (all_path, one_path, other_path)]
    # One just begun may not show as a misting yet.
    missing = [time for time in times[0] if time not in times[1] + times[2]]
    assert len(missing) <= 1 and sorted(set(times[1] + times[2])) == times[1] + times[2], times
    assert set(times[1] + times[2]) <= set(times[0]), times


def wet(list_path, *paths):
    mistings, seen = json.load(open(list_path))['mistings'], 0
    for path in paths:
        enclosure = json.load(open(path))['enclosures'][0]
        times = [m['time'] for m in mistings
                 if m['enclosure'] == enclosure['name'] and enclosure['place'] in m['wet']]
        fits = [d for d in enclosure['dryings'] if d['verdict'] == 'fitted']
        wetted = [d for d in fits if any(abs(d['time'] - time) < TOGETHER for time in times)]
        dry = [d['time_constant_hours'] for d in fits if d not in wetted]
        for drying in wetted:
            assert min(dry) / 1.3 < drying['time_constant_hours'] < 1.3 * max(dry), (path, drying, dry)
            assert drying['top'] < 97, (path, drying)
        seen += len(wetted)
    assert seen > 1, seen


def whole(path):
    ends, torn = {}, 0
    mistings, dryings = collections.defaultdict(list), collections.defaultdict(list)
    for line in open(path):
        try:
            record = json.loads(line)
        except ValueError:
            torn += 1
            continue
        name = record['enclosure']
        assert ends.get(name, record['from']) == record['from'] < record['to'], (name, record['from'])
        ends[name] = record['to']
        assert 0 <= record['known'] <= record['to'] - record['from']
        mistings[name] += [drying['at'] for drying in record['dryings']]
        dryings[name] += record['dryings']
        assert all(record['from'] <= drying['at'] < record['to'] for drying in record['dryings'])
    assert len(ends) == 12 and torn <= 1, (len(ends), torn)
    for name, times in mistings.items():
        assert all(a + TOGETHER < b for a, b in zip(times, times[1:])), (name, times)
    assert sum(map(len, mistings.values())) > 80
    for name, list_ in dryings.items():
        for one, following in zip(list_, list_[1:]):
            until = min(following['at'], one['at'] + MOST)
            # By coarser rows the next may begin a row elsewhere.
            assert until - 2 * STEP <= one['to'] < until + STEP, (name, one['at'], one['to'], until)


globals()[sys.argv[1].replace('-', '_')](*sys.argv[2:])
