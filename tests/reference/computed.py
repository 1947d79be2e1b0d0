# SPDX-License-Identifier: GPL-3.0-or-later
"""A lamp over a hot spot that has a thermometer only: its recording, and the
humidity there reckoned independently of the project's own code.

    computed.py record BEGIN HOURS
    computed.py check BEGIN HOURS WARMSIDE CONF

The formula is WMO-No. 8 (Guide to Instruments and Methods of Observation), annex
4.B, eq. 4.B.1: e_w = 6.112 exp(17.62 t / (243.12 + t)) hPa, -45..60 degC.
"""

import json
import math
import subprocess
import sys

import truth

EVERY = 60
BAND = 30, 60
SILENT = 200, 230       # minutes in which the source gives nothing


def pressure(celsius):
    return 6.112 * math.exp(17.62 * celsius / (243.12 + celsius))


def cool(minute):
    lamp = 1 if 60 <= minute < 270 else 0
    misted = max(0, minute - 120)
    humidity = 52 + 20 * math.exp(-misted / 90) * (minute >= 120) + 2 * math.sin(minute / 17)
    return round(22 + 2 * lamp * (1 - math.exp(-max(0, minute - 60) / 40)), 1), round(humidity, 1)


def hot(minute):
    if 60 <= minute < 270:
        return round(24 + 19 * (1 - math.exp(-(minute - 60) / 25)), 1)
    return round(24 + (19 * math.exp(-(minute - 270) / 25) if minute >= 270 else 0), 1)


def readings(begin, hours):
    """(time, probe, temperature, humidity or None), in order of time."""
    for minute in range(60 * hours):
        yield begin + 60 * minute, 'hot', hot(minute), None
        if not SILENT[0] <= minute < SILENT[1]:
            yield begin + 60 * minute + 20, 'cool', *cool(minute)


def computed(begin, hours):
    """The humidity of the hot spot whenever its thermometer speaks and the cool side is known."""
    last = None
    for time, probe, celsius, humidity in readings(begin, hours):
        if probe == 'cool':
            last = time, celsius, humidity
        elif last and time - last[0] <= 3 * EVERY:
            yield time, min(100, last[2] * pressure(last[1]) / pressure(celsius))


def ask(warmside, conf, begin, end):
    out = subprocess.run([warmside, '-c', conf, 'totals', '--format', 'json', '--from', str(begin),
                          '--to', str(end)], check=True, capture_output=True).stdout
    places = json.loads(out)['enclosures'][0]['places']
    found = [p for p in places if p['place'] == 'hot_spot' and p['quantity'] == 'humidity']
    assert len(found) == 1 and found[0]['computed'] is True, places
    assert not any('computed' in p for p in places if p not in found), places
    return found[0]


def check(begin, hours, warmside, conf):
    """Tolerances: 0.1 % of humidity, because the formulas' quotients differ by less than 0.3 % of
    themselves; of the time below, the crossings move by as much as that takes, a minute or so."""
    values = list(computed(begin, hours))
    end = begin + 3600 * hours
    band = truth.Band(BAND, BAND, (8 * 3600, 20 * 3600), 5400, begin, end)
    worst = 0
    for a in [*range(begin, end, 600), None]:
        span = (a, a + 600) if a else (begin, end)
        expected = truth.totals(values, EVERY, band, *span)
        found = ask(warmside, conf, *span)
        # The last minute is closed with what is known of it.
        assert abs(found['unknown_seconds'] - expected['unknown_seconds']) < 1e-3, (span, found, expected)
        if expected['mean'] is None:
            assert found['mean'] is None, found
            continue
        worst = max(worst, abs(found['mean'] - expected['mean']))
        assert worst < 0.1, (span, found, expected)
        if not a:
            assert 3600 < expected['low_seconds'] < end - begin - 3600, expected
            for key in 'low_seconds', 'inside_seconds':
                assert abs(found[key] - expected[key]) < 90, (key, found, expected)
            assert abs(found['degree_hours'] - expected['degree_hours']) < 0.1 * (hours + 1), found
    print(f'{len(values)} values, mean of ten minutes within {worst:.3f} %')


if sys.argv[1] == 'record':
    print('time,probe,temperature,humidity')
    for at, name, celsius, humidity in readings(int(sys.argv[2]), int(sys.argv[3])):
        print(f'{at},{name},{celsius},{"" if humidity is None else humidity}')
else:
    check(int(sys.argv[2]), int(sys.argv[3]), *sys.argv[4:])
