# SPDX-License-Identifier: GPL-3.0-or-later
"""Does every answer about a window say the same numbers, to the last digit shown?

    agree.py REPORT CONF FROM TO NEWEST

The JSON of `warmside morning` and `excursions` is taken for the truth; it is rounded here
(exactly, in decimal, halves away from zero) and put into the words of page,
digest and tables, which must stand there as they are.  NEWEST: the end of the
archived minutes.  Not looked at: bands, axes of time, and how old records are.
Every fault in one run; exit 1 when there are any.
"""

import csv
import io
import json
import math
import re
import subprocess
import sys
import tempfile
import time
from fractions import Fraction

import agreepage

NONE = '–'
# s: JSON tells instants to ten microseconds, and excursions leave out pieces below one.
INSTANT, DUST = Fraction(1, 10 ** 5), Fraction(1, 10 ** 6)
SUM = Fraction(1, 10 ** 3)   # s, and °C s or % s: what sums may differ by besides
WORDS = ('none one two three four five six seven eight nine ten eleven twelve').split()
DURATION = r'(?:\d+ (?:d|h|min|s)(?: \d+ (?:h|min|s))?)'
VALUE = r'(?:-?\d+(?:\.\d)? (?:°C|°F|%))'
TIME = r'(?:(?:\d+ \w{3} |\d{4}-\d\d-\d\d )?\d\d:\d\d)'


# ---- numbers as people read them ---------------------------------------------------

def whole(x):
    return int(math.copysign(math.floor(abs(x) + Fraction(1, 2)), x))


def decimal(x, places):
    scaled = whole(x * 10 ** places)
    return ('%s%d.%0*d' % ('-' if scaled < 0 else '', abs(scaled) // 10 ** places, places,
                           abs(scaled) % 10 ** places) if places else '%d' % scaled)


def duration(seconds):
    if whole(seconds) < 60:
        return '%d s' % whole(seconds)
    for large, small, units, end in ((60, 1, ('min', 's'), 3600), (3600, 60, ('h', 'min'), 86400),
                                     (86400, 3600, ('d', 'h'), math.inf)):
        count = whole(seconds / small)
        if count * small < end:
            break
    rest = count % (large // small)
    return '%d %s' % (count // (large // small), units[0]) + (' %d %s' % (rest, units[1]) if rest else '')


def durations(seconds, slack=2 * INSTANT):
    """More than one only for what JSON does not tell finely enough."""
    return {duration(max(seconds + s, Fraction(0))) for s in (-slack, 0, slack)}


def hours(seconds):
    minutes = whole(seconds / 60)
    return '<0:01' if minutes < 1 else '%d:%02d' % divmod(minutes, 60)


def share(part):
    percent = whole(Fraction(whole(part * 10 ** 6), 10 ** 4))
    return '<1 %' if part > 0 and percent < 1 else '>99 %' if part < 1 and percent > 99 else '%d %%' % percent


class Report:
    def __init__(self, program, conf, begin, end, newest):
        self.command = [program, '-c', conf, '--from', begin, '--to', end]
        self.begin, self.end, self.span = int(begin), int(end), int(end) - int(begin)
        self.newest = Fraction(newest)
        with open(conf, encoding='utf-8') as text:
            self.fahrenheit = re.search(r'^units = "F"', text.read(), re.M) is not None
        self.faults = []
        self.looked = 0

    def run(self, *words):
        done = subprocess.run([*self.command, *words], capture_output=True, check=True)
        return done.stdout.decode()

    def json(self, *words):
        return json.loads(self.run(*words, '--format', 'json'), parse_float=Fraction, parse_int=Fraction)

    def equal(self, wanted, found, *about):
        self.looked += 1
        if found not in (wanted if isinstance(wanted, set) else [wanted]):
            self.faults.append('%s: %r is said, %r is right' % (' '.join(map(str, about)), found, wanted))

    def about(self, difference, tolerance, *about):
        self.looked += 1
        if abs(difference) > tolerance:
            self.faults.append('%s: %.6f apart' % (' '.join(map(str, about)), difference))

    # ---- in the units of the configuration ----
    def value(self, x, quantity, zero=32):
        if quantity == 'humidity':
            return '%s %%' % decimal(x, 0)
        if self.fahrenheit:
            return '%s °F' % decimal(x * 9 / 5 + zero, 1)
        return '%s °C' % decimal(x, 1)

    def edge(self, x, quantity):
        """Of a band or limits: somebody wrote it down, without tenths if it has none."""
        return re.sub(r'\.0(?= )', '', self.value(x, quantity))

    def distance(self, x, quantity):
        return '%s %% h' % decimal(x, 1) if quantity == 'humidity' else self.value(x, quantity, 0) + ' h'

    def brief(self, instant):
        at = time.gmtime(math.floor(instant))
        return time.strftime('%H:%M' if self.span <= 36 * 3600 else '%-d %b %H:%M', at)

    def begun(self, series):
        """Since when it lasts, by the rows or by the alert that was told of it."""
        times = [series['lasting']['since'], *series['told_since']]
        return {form(x) for x in times if x is not None for form in (
            self.brief, local, lambda x: local(x)[-5:] if local(x)[:10] == local(self.end)[:10] else '')}

    def cells(self, series):
        """The row of the small table: what is said, and what beside it."""
        s = series
        band = s['low_seconds'] is not None

        def spent(seconds):
            return (hours(seconds), share(seconds / self.span)) if seconds else (NONE, '')
        row = {head: spent(s[key]) for head, key in (
            ('below', 'low_seconds'), ('above', 'high_seconds'), ('inside', 'inside_seconds'),
            ('unknown', 'unknown_seconds'))}
        out = band and s['low_seconds'] + s['high_seconds'] > 0
        row['out by'] = (self.distance(s['degree_hours'], s['quantity']) if out else NONE, '')
        for head, key in ('lowest', 'min'), ('highest', 'max'):
            row[head] = (NONE, '') if s[key] is None else (
                self.value(s[key], s['quantity']), self.brief(s[key + '_time']))
        row['mean'] = (NONE if s['mean'] is None else self.value(s['mean'], s['quantity']), '')
        row['excursions'] = ('%d' % s['excursions'] if band and s['mean'] is not None else NONE, '')
        return row


def cells_of(report, series):
    return {head: ' '.join(filter(None, cell)) for head, cell in report.cells(series).items()}


def phrase(series):
    place = 'room air' if series['place'] == 'room' else series['place'].replace('_', ' ')
    return '%s %s%s' % (place, series['quantity'], ' (computed)' * series.get('computed', False))


def local(instant):
    return time.strftime('%Y-%m-%d %H:%M', time.gmtime(math.floor(instant)))


# ---- sentences ---------------------------------------------------------------------

def check_sentence(report, text, matter, places, about):
    """Each number of a sentence about some series is one of theirs."""
    left = text

    def take(pattern, right):
        nonlocal left
        for found in re.finditer(pattern, left):
            if not any(right(s, *found.groups()) for s in places):
                report.faults.append('%s: "%s" is nobody\'s number' % (about, found.group()))
            report.looked += 1
        left = re.sub(pattern, '', left)

    def spent(s, side):
        return s['low_seconds' if side.lower() in ('below', 'cold', 'dry') else 'high_seconds'] or Fraction(0)

    def glance(seconds):  # where the seconds may be left out
        return {duration(seconds), duration(Fraction(whole(seconds / 60) * 60)) if seconds >= 60 else ''}
    take(r'([Bb]elow|[Aa]bove) its band for (%s), (lowest|highest) (%s)' % (DURATION, VALUE),
         lambda s, side, d, which, v: d in glance(spent(s, side)) and
         report.value(s['farthest'][side.lower()], s['quantity']) == v and
         (which == 'lowest') == (side.lower() == 'below'))
    take(r'(?:(%s) )?(?:dangerously )?too (cold|hot|warm|dry|damp|wet) since (%s)' % (VALUE, TIME),
         lambda s, v, wrong, at: s['lasting'] and at in report.begun(s) and
         report.value(s['lasting']['distance'], s['quantity'], 0) ==
         (v or report.value(0, s['quantity'], 0)))  # nothing is said of no distance
    take(r'(%s) at (%s)' % (VALUE, TIME), lambda s, v, at: s['danger'] and (v, at) == (
        report.value(s['danger']['value'], s['quantity']), report.brief(s['danger']['time'])))
    take(r'too (cold|hot|warm|dry|damp|wet) for (%s)' % DURATION,
         lambda s, wrong, d: d in glance(spent(s, wrong)))
    take(r'(?:silent|no reading) since (%s)' % TIME,
         lambda s, at: s['silent_since'] is not None and report.brief(s['silent_since']) == at)
    take(r'unknown for (%s)' % DURATION, lambda s, d: d in glance(s['unknown_seconds']))
    take(r'but for less than 5 min|told [-\d: ]+$|; and \d+ more$', lambda s, *_: True)
    if matter == 'change':
        take(r'(%s) (warmer|cooler|damper|drier)' % VALUE, lambda s, v, _: s['before'] and v == report.value(
            abs(s['mean'] - s['before']['mean']), s['quantity'], 0))
        take(r'(%s) (?:more|less) (below|above) its band' % DURATION, lambda s, d, side: s['before'] and d in
             glance(abs(spent(s, side) - s['before']['low_seconds' if side == 'below' else 'high_seconds'])))
        take(r'same hours of (?:the )?(\d+) (?:of the 7 )?days before', lambda s, n: s['before'] and s['before']['windows'] == int(n))
        take(r'than in the (\d+) days before', lambda s, n: int(n) == math.ceil((report.span - 3600) / 86400))
    if re.search(r'\d', left):
        report.faults.append('%s: "%s" has a number that was not looked at' % (about, left))


def check_headline(report, morning):
    animals = [e for e in morning['enclosures'] if e['name'] != 'room']
    needed = [e for e in animals if e['need'] == 'look']
    count, _, rest = morning['headline'].partition(' of ')
    report.equal(WORDS[len(needed)], count.lower(), 'the headline')
    report.equal(WORDS[len(animals)], rest.split(' ')[0], 'the headline')
    if len(needed) > 3:
        report.equal('%d' % (len(needed) - 3), re.search(r'and (\d+) more\.$', rest).group(1), 'the headline')
    text = re.sub(r' and \d+ more\.$', '', rest)
    for e in reversed(needed[:3]):
        text, _, complaint = text.rpartition(e['label'])
        check_sentence(report, complaint, 'complaint', e['places'], 'the headline on ' + e['name'])
    report.equal('', re.sub(r'\D', '', text), 'the rest of the headline')
    counts = [WORDS[n] for n in (sum(e['need'] == need for e in animals) for need in ('out', 'strayed')) if n]
    said = re.findall(r'(?:^|[.] )(\w+) (?:is|are|was|were) out', morning['others'])
    report.equal(counts, [word.lower() for word in said], 'the others')


# ---- the commands ------------------------------------------------------------------

def check_totals(report, morning):
    totals = report.json('totals')
    ordered = {e['name']: e for e in morning['enclosures']}
    rows = list(csv.DictReader(io.StringIO(report.run('totals', '--format', 'csv'))))
    text = [re.split(r' {2,}', line) for line in report.run('totals').split('\n')[3:]]
    for e in totals['enclosures']:
        for s, same in zip(e['places'], ordered[e['name']]['places'], strict=True):
            about = e['name'], phrase(s)
            row, line = rows.pop(0), text.pop(0)
            for key, x in s.items():
                report.equal(x, same[key], *about, key, 'in totals and morning')
                if key in row and not isinstance(x, str):
                    report.equal(x, Fraction(row[key]) if row[key] else None, *about, key, 'in CSV')
            cells = report.cells(same)
            spent = [duration(s[k]) if s[k] and s[k] >= Fraction(1, 2) else NONE
                     for k in ('low_seconds', 'high_seconds', 'inside_seconds', 'unknown_seconds')]
            report.equal([phrase(s), *spent[:2], cells['out by'][0], *spent[2:],
                          *(cells[k][0] for k in ('lowest', 'mean', 'highest'))], line[1:], *about, 'in totals')
    report.equal([], rows, 'lines of CSV')


def whole_excursion(report, e):
    end = e['to'] if e['to'] is not None else min(report.newest, Fraction(report.end))
    return {**e, 'seconds': end - e['from'], 'end': end}


def is_told(e):
    return e['seconds'] >= 300 - INSTANT or e['beyond_limits'] or e['to'] is None


def farthest(report, morning):
    """Of each series, how far its excursions went."""
    places = {(e['name'], s['place'], s['quantity']): s for e in morning['enclosures'] for s in e['places']}
    for s in places.values():
        s['farthest'] = {'below': Fraction(10 ** 6), 'above': Fraction(-10 ** 6)}
    for e in report.json('excursions')['excursions']:
        reached = places[e['enclosure'], e['place'], e['quantity']]['farthest']
        reached[e['side']] = (min if e['side'] == 'below' else max)(reached[e['side']], e['worst'])


def check_excursions(report, morning):
    found = [whole_excursion(report, e) for e in report.json('excursions')['excursions']]
    rows = csv.DictReader(io.StringIO(report.run('excursions', '--format', 'csv')))
    for e, row in zip(found, rows, strict=True):
        for key, x in row.items():
            wanted = e[key]
            if isinstance(wanted, bool):
                wanted = 'true' if wanted else 'false'
            report.equal(wanted, (Fraction(x) if x else None) if not isinstance(wanted, str) else x, key, 'in CSV')
    parts = {}
    for e in found:
        parts.setdefault((e['enclosure'], e['place'], e['quantity']), []).append(e)
    for enclosure in morning['enclosures']:
        for s in enclosure['places']:
            check_sum(report, s, parts.get((enclosure['name'], s['place'], s['quantity']), []),
                      (enclosure['name'], phrase(s)))
    check_excursion_text(report, parts, {e['name']: e['label'] for e in morning['enclosures']})
    return parts


def check_sum(report, s, parts, about):
    """What is listed adds up to the totals."""
    if s['low_seconds'] is None:
        report.equal([], parts, *about, 'without a band')
        return
    slack = SUM + len(parts) * 2 * INSTANT + report.span / 60 * DUST
    report.equal(s['excursions'], len(parts), *about, 'excursions')
    for side, key in ('below', 'low_seconds'), ('above', 'high_seconds'):
        report.about(sum(e['seconds'] for e in parts if e['side'] == side) - s[key], slack, *about, side)
    # Each is rounded to six decimals; a piece left out was not out by more than 100.
    report.about(sum(e['degree_hours'] for e in parts) - s['degree_hours'],
                 (len(parts) + 1) * DUST + report.span / 60 * DUST / 36, *about, 'degree-hours')


def rest_sentence(parts):
    folded = [e for e in parts if not is_told(e)]
    return {'%d shorter than 5 min, %s in all' % (len(folded), d) for d in durations(
        sum(e['seconds'] for e in folded), len(folded) * 2 * INSTANT)} if folded else None


def check_excursion_text(report, parts, labels):
    lines = report.run('excursions').split('\n')[2:]
    for (name, place, quantity), all_of_it in parts.items():
        about = name, place, quantity
        title = '%s · %s' % (name, labels[name]) if labels[name] != name else name
        report.equal('%s, %s' % (title, phrase(all_of_it[0])), lines.pop(0), *about)
        told = [e for e in all_of_it if is_told(e)]
        if told:
            lines.pop(0)
        for e in told:
            cells = re.split(r' {2,}', lines.pop(0).strip())
            report.equal(durations(e['seconds']), cells.pop(2), *about, 'excursion')
            report.equal([local(e['from']), 'lasts' if e['to'] is None else local(e['to']), e['side'],
                          ('lowest ' if e['side'] == 'below' else 'highest ') + report.value(e['worst'], quantity),
                          report.distance(e['degree_hours'], quantity)] +
                         ['beyond its limits'] * e['beyond_limits'], cells, *about, 'excursion')
        rest = rest_sentence(all_of_it)
        if rest:
            report.equal(rest, re.sub('^  (and )?', '', lines.pop(0)), *about, 'the short ones')
        report.equal('', lines.pop(0), *about, 'the end')


def check_digest(report, morning, head):
    lines = report.run('morning', '--format', 'text').split('\n')
    report.equal(morning['headline'], lines[0], 'the digest')
    for sentence in head:
        report.equal(True, sentence in lines, 'the digest says', sentence)
    for e in morning['enclosures']:
        if e['need'] not in ('look', 'out', 'strayed'):
            continue
        at = lines.index('%s: %s' % ('Room' if e['name'] == 'room' else e['label'], e['complaint']))
        report.equal(e['finding'] + '.', lines[at + 1].strip(), 'the digest on', e['name'])
        if e['need'] != 'look':
            continue
        changes = ['%s: %s.' % (phrase(s).capitalize(), s['change']) for s in e['places'] if s['change']]
        report.equal(changes, [line.strip() for line in lines[at + 2:at + 2 + len(changes)]], e['name'])
        while not lines[at].endswith('excursions'):
            at += 1
        heads = re.split(r' {2,}', lines[at].strip())
        for i, s in enumerate(e['places']):
            cells = cells_of(report, s)
            report.equal([phrase(s)] + [cells[head] for head in heads],
                         re.split(r' {2,}', lines[at + 1 + i].strip()), 'the digest on', e['name'])


def known_sentence(report, morning):
    places = [e['places'] for e in morning['enclosures']]
    known = [sum(1 - s['unknown_seconds'] / report.span for s in p) / len(p) if p else 0 for p in places]
    whole_share = Fraction(sum(known), len(known))
    report.about(whole_share - morning['known'], Fraction(1, 10 ** 6), 'known')
    return '%s to %s (%s), %s of it known. Made ' % (
        local(report.begin), local(report.end), duration(Fraction(report.span)), share(whole_share))


def room_sentence(report, morning):
    room = [e for e in morning['enclosures'] if e['name'] == 'room'][0]
    return 'Room air: %s.' % '; '.join('%s, between %s and %s' % tuple(
        report.value(s[key], s['quantity']) for key in ('latest', 'min', 'max')) for s in room['places'])


def main():
    report = Report(*sys.argv[1:])
    morning = report.json('morning')
    for e in morning['enclosures']:
        for s in e['places']:
            s['told_since'] = [a['since'] for a in morning['standing'] if (
                a['enclosure'], a['place'], a['quantity']) == (e['name'], s['place'], s['quantity'])]
    farthest(report, morning)
    check_headline(report, morning)
    for e in morning['enclosures']:
        check_sentence(report, e['complaint'] or '', 'complaint', e['places'], e['name'])
        check_sentence(report, e['finding'], 'finding', e['places'], e['name'])
        for s in e['places']:
            check_sentence(report, s['finding'], 'finding', [s], e['name'])
            check_sentence(report, s['change'] or '', 'change', [s], e['name'])
    check_totals(report, morning)
    parts = check_excursions(report, morning)
    head = [room_sentence(report, morning)]
    check_digest(report, morning, head)
    with tempfile.NamedTemporaryFile(suffix='.html') as page:
        report.run('morning', '-o', page.name)
        with open(page.name, encoding='utf-8') as text:
            agreepage.check(report, morning, parts, text.read(),
                              head + [known_sentence(report, morning)], sys.modules[__name__])
    for fault in report.faults[:40]:
        print(fault)
    print('%d numbers and rows looked at, %d faults' % (report.looked, len(report.faults)))
    sys.exit(bool(report.faults) or report.looked < 500)


if __name__ == '__main__':
    main()
