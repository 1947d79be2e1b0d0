# SPDX-License-Identifier: GPL-3.0-or-later
"""Totals computed independently of the project's own code, from readings.

The rules are those the manual states: the straight line between two readings
of a probe no more than 3 x `every` apart is known, all else is unknown; the
band is the day's, the night's, or for the changeover after each switch the
widest of both.  Everything is integrated exactly on the line; nothing is cut
into minutes.
"""

import bisect
import time


class Band:
    """(from, to, low, high) pieces over a span of time, from local switches."""

    def __init__(self, day, night, hours, changeover, begin, end):
        self.edges = []
        self.ranges = []
        switches = []
        t = begin - 3 * 86400
        while t < end + 3 * 86400:
            date = time.localtime(t)
            for seconds, kind in ((hours[0], 'day'), (hours[1], 'night')):
                hour, minute = divmod(seconds // 60, 60)
                switches.append((time.mktime((date.tm_year, date.tm_mon, date.tm_mday,
                                              hour, minute, 0, 0, 0, -1)), kind))
            t += 43200
        hull = (min(day[0], night[0]), max(day[1], night[1]))
        for at, kind in sorted(set(switches)):
            self.edges += [at, at + changeover]
            self.ranges += [hull, day if kind == 'day' else night]
        order = sorted(range(len(self.edges)), key=lambda i: self.edges[i])
        assert order == list(range(len(self.edges))), 'changeover longer than a part of the day'

    def pieces(self, a, b):
        """The parts of [a, b] in which the band stands still."""
        i = bisect.bisect_right(self.edges, a) - 1
        while a < b:
            until = min(b, self.edges[i + 1])
            yield a, until, self.ranges[i]
            a = until
            i += 1


def area_beyond(t0, v0, t1, v1, edge, sign):
    """Time and area of the line where sign * (v - edge) > 0."""
    a, b = sign * (v0 - edge), sign * (v1 - edge)
    if a <= 0 and b <= 0:
        return 0.0, 0.0
    width = t1 - t0
    if a < 0 or b < 0:
        width *= max(a, b) / (max(a, b) - min(a, b))
        return width, width * max(a, b) / 2
    return width, width * (a + b) / 2


def totals(readings, every, band, begin, end):
    """low, high, unknown seconds, degree-hours out and mean within [begin, end)."""
    low = high = known = out = area = 0.0
    for (t0, v0), (t1, v1) in zip(readings, readings[1:]):
        if t1 - t0 > 3 * every or t1 <= begin or t0 >= end or t1 == t0:
            continue
        slope = (v1 - v0) / (t1 - t0)
        a, b = max(t0, begin), min(t1, end)
        known += b - a
        va, vb = v0 + slope * (a - t0), v0 + slope * (b - t0)
        area += (va + vb) / 2 * (b - a)
        for p, q, (lo, hi) in band.pieces(a, b):
            vp, vq = v0 + slope * (p - t0), v0 + slope * (q - t0)
            below, cold = area_beyond(p, vp, q, vq, lo, -1)
            above, hot = area_beyond(p, vp, q, vq, hi, 1)
            low += below
            high += above
            out += cold + hot
    return {'low_seconds': low, 'high_seconds': high, 'unknown_seconds': end - begin - known,
            'inside_seconds': known - low - high, 'degree_hours': out / 3600,
            'mean': area / known if known else None}


def together(parts, begin, end):
    """The totals of several stretches of readings that nothing joins, each of
    which was reckoned within [begin, end)."""
    whole = {key: sum(part[key] for part in parts)
             for key in ('low_seconds', 'high_seconds', 'inside_seconds', 'degree_hours')}
    known = [end - begin - part['unknown_seconds'] for part in parts]
    whole['unknown_seconds'] = end - begin - sum(known)
    whole['mean'] = sum(part['mean'] * k for part, k in zip(parts, known) if k) / sum(known) \
        if sum(known) else None
    return whole


def without_spikes(readings, every, jump):
    """Drops a reading that lies more than `jump` from the one before while the
    one after is within that of the one before, all within 3 x every."""
    kept, dropped, i = [], [], 0
    while i < len(readings):
        t, v = readings[i]
        if kept and i + 1 < len(readings):
            (t0, v0), (t2, v2) = kept[-1], readings[i + 1]
            if (t - t0 <= 3 * every and abs(v - v0) > jump and t2 - t0 <= 3 * every and
                    abs(v2 - v0) <= jump):
                dropped.append((t, v))
                i += 1
                continue
        kept.append((t, v))
        i += 1
    return kept, dropped


def compare(found, truth, seconds, degree_hours, mean, where):
    """The differences that are too large, as sentences, and the largest ones."""
    faults = []
    worst = {'seconds': 0.0, 'degree_hours': 0.0, 'mean': 0.0}
    for key, expected in truth.items():
        kind = 'seconds' if key.endswith('seconds') else key
        bound = {'seconds': seconds, 'degree_hours': degree_hours, 'mean': mean}[kind]
        if expected is None or found[key] is None:
            if expected is not found[key]:
                faults.append('%s %s: %r, truly %r' % (where, key, found[key], expected))
            continue
        if bound is None:
            continue
        error = abs(found[key] - expected)
        worst[kind] = max(worst[kind], error)
        if not error <= bound:
            faults.append('%s %s: %.6f, truly %.6f' % (where, key, found[key], expected))
    return faults, worst


def by_minute(readings, every, band):
    """End of a minute -> [low, high, known, area of the value, area out] of the
    lines between the readings, s and s x unit; the sums of totals(), cut at each
    full minute."""
    minutes = {}
    for (t0, v0), (t1, v1) in zip(readings, readings[1:]):
        if t1 - t0 > 3 * every or t1 == t0:
            continue
        slope = (v1 - v0) / (t1 - t0)
        a = t0
        while a < t1:
            end = int(a // 60 + 1) * 60
            b = min(t1, end)
            sums = minutes.setdefault(end, [0.0] * 5)
            sums[2] += b - a
            sums[3] += (v0 + slope * (a - t0) + v0 + slope * (b - t0)) / 2 * (b - a)
            for p, q, (lo, hi) in band.pieces(a, b):
                vp, vq = v0 + slope * (p - t0), v0 + slope * (q - t0)
                below, cold = area_beyond(p, vp, q, vq, lo, -1)
                above, hot = area_beyond(p, vp, q, vq, hi, 1)
                sums[0] += below
                sums[1] += above
                sums[4] += cold + hot
            a = b
    return minutes
