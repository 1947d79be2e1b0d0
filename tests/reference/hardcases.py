# SPDX-License-Identifier: GPL-3.0-or-later
"""Hard cases of the morning look: recordings whose truth is known, and what must be
on the pages made of them.

    hardcases.py record FOLDER            month.csv, nights.csv and their configurations
    hardcases.py look WARMSIDE FOLDER     asks for pages, text, JSON and graphs of them

Every fault is a sentence; exit 1 when there are any.
"""

import csv
import datetime
import html.parser
import json
import os
import re
import subprocess
import sys
import xml.etree.ElementTree
import zoneinfo

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import pagesource  # noqa: E402

ZONE = zoneinfo.ZoneInfo('Europe/Berlin')
DAY = 86400
EVERY = 300
MONTH = 1772323200      # 2026-03-01T00:00Z
MONTH_END = MONTH + 31 * DAY
HOLE = (MONTH + 7 * DAY, MONTH + 14 * DAY)      # nobody is recorded
MISSED = (MONTH + 19 * DAY, MONTH + 20 * DAY)   # "B two" is not
LATE = MONTH + 15 * DAY                         # "late" is added
COLD = (MONTH_END - 7200, MONTH_END - 3600)     # "A1" reads 20 °C instead of 25
SPRING, AUTUMN = 1774746000, 1792890000         # 2026-03-29 and 2026-10-25, 01:00 UTC

HOSTILE = 'Old <b>"one"</b> & \'two\' &lt;</script>'
LABELS = {
    'A1': HOSTILE,
    'B two': 'Змея Φίδι 蛇の家 ثعبان',
    'late': 'ж' * 60,
    'unk': 'Terrarium mit Umlaut: Höhle',
    'never': 'never heard of',
}
SPECIES = 'corn snake - 2_b'
TEXTS = {'A1', 'B two', 'late', 'unk'}


def quoted(text):
    return '"%s"' % text.replace('\\', '\\\\').replace('"', '\\"')


def place(probe, limits=' limits = "10..40 C"'):
    return ('warm_side { probe = "%s" temperature { day = "22..28 C"%s patience = "8h" } }'
            % (probe, limits))


def write_conf(folder, name, probes, enclosures, room=None, state=None, archive=''):
    with open('%s/%s.conf' % (folder, name), 'w', encoding='utf-8') as conf:
        print('state = "%s/%s.state"\n%s' % (folder, state or name, archive) +
              'bus "board" { port = "%s/none"  speaks = "lines"  line = "{probe},{temperature},'
              '{humidity}"  every = "%ds" }' % (folder, EVERY), file=conf)
        for probe in probes:
            print('probe "%s" { bus = "board" }' % probe, file=conf)
        if room:
            print('room { probe = "%s" temperature { limits = "16..32 C" } }' % room, file=conf)
        print('species %s { %s }' % (quoted(SPECIES), 'warm_side { temperature { source = "none" } }'),
              file=conf)
        for enclosure in enclosures:
            print(enclosure, file=conf)


def enclosure(name, probe, label=None):
    return 'enclosure "%s" { %s species = %s %s }' % (
        name, 'label = %s' % quoted(label) if label else '', quoted(SPECIES), place(probe))


def inside(span, at):
    return span[0] <= at < span[1]


def usual(at):
    return 25 + at // EVERY % 2 / 10


def month_rows():
    for at in range(MONTH, MONTH_END + 1, EVERY):
        if inside(HOLE, at):
            continue
        yield at, 'a', 20 if COLD[0] <= at <= COLD[1] else usual(at), 50
        if not inside(MISSED, at):
            yield at, 'b', usual(at), 50
        if at >= LATE:
            yield at, 'l', usual(at), 50
        yield (at, 'u', usual(at), 50) if at <= MONTH + 3600 else (at, 'u', '', '')
        yield at, 'r', usual(at) - 5, 40


def record(folder):
    header = 'time', 'probe', 'temperature', 'humidity'
    with open(folder + '/month.csv', 'w', newline='', encoding='utf-8') as file:
        rows = csv.writer(file)
        rows.writerow(header)
        rows.writerows(month_rows())
    names = list(zip(LABELS, 'abluN'))
    write_conf(folder, 'month', 'abluNr',
               [enclosure(name, probe, LABELS[name]) for name, probe in names], 'r')
    # The same state, asked for in other ways.
    for name, kept, room in (('single', names[:1], None), ('bare', names[:2], None),
                             ('none', [], 'r'), ('empty', [], None)):
        write_conf(folder, name, 'abluNr',
                   [enclosure(n, probe, LABELS[n]) for n, probe in kept], room, 'month')
    write_conf(folder, 'odd', 'a', [enclosure('A1', 'a', HOSTILE), 'enclosure "Bare" { }'], None,
               'month', 'units = "F"\n')
    with open(folder + '/nights.csv', 'w', newline='', encoding='utf-8') as file:
        rows = csv.writer(file)
        rows.writerow(header)
        for begin in SPRING - DAY, AUTUMN - DAY:
            for at in range(begin, begin + 2 * DAY + EVERY, EVERY):
                rows.writerow((at, 'a', usual(at), 50))
    write_conf(folder, 'nights', 'a', [enclosure('A1', 'a')])
    with open(folder + '/hundred.csv', 'w', newline='', encoding='utf-8') as file:
        rows = csv.writer(file)
        rows.writerow(header)
        for at in range(MONTH, MONTH + 3600 * 3, EVERY):
            rows.writerows((at, 'p%d' % i, 20 + i / 10, 50) for i in range(100))
    write_conf(folder, 'hundred', ['p%d' % i for i in range(100)],
               [enclosure('E%d' % i, 'p%d' % i) for i in range(100)],
               archive='archive { minutes = "1d" ten_minutes = "2d" hours = "3d" }\n')


# ---- what is on a page -------------------------------------------------------------

class Page(html.parser.HTMLParser):
    """Its head, its sections' tables, its axis and what its body says of itself."""

    def __init__(self, path):
        super().__init__(convert_charrefs=True)
        self.body, self.tables, self.ticks, self.nights, self.links = {}, {}, [], 0, []
        self.text, self.section, self.cell, self.skip, self.axis = [], None, None, 0, 0
        self.heading = ''
        self.inside_h1 = False
        with open(path, encoding='utf-8') as file:
            self.feed(file.read())
        self.text = ' '.join(' '.join(self.text).split())

    def handle_starttag(self, tag, given):
        given = dict(given)
        if tag == 'body':
            self.body = given
        if tag == 'h1':
            self.inside_h1 = True
        if tag == 'section' and given.get('id', '').startswith('e-'):
            self.section = given['id']
            self.tables[self.section] = []
        if tag == 'tr' and self.section:
            self.tables[self.section].append({})
        if tag == 'td':
            self.cell = given['data-head']
            self.tables[self.section][-1][self.cell] = ''
        if tag in ('style', 'script'):
            self.skip += 1
        if tag == 'div' and given.get('class') == 'axis':
            self.axis += 1
        elif tag == 'span' and self.axis == 1 and given.get('style', '').startswith('left:'):
            self.ticks.append([float(given['style'][5:].rstrip('%')), ''])
        if tag == 'rect' and given.get('class') == 'night':
            self.nights += 1
        if tag == 'a':
            self.links.append(given['href'])

    def handle_endtag(self, tag):
        if tag == 'td':
            self.cell = None
        if tag == 'h1':
            self.inside_h1 = False
        if tag in ('style', 'script'):
            self.skip -= 1
        if tag == 'div' and self.axis == 1:
            self.axis = 2

    def handle_data(self, data):
        if self.skip:
            return
        self.text.append(data)
        if self.inside_h1:
            self.heading += data
        if self.cell:
            self.tables[self.section][-1][self.cell] += data
        if self.axis == 1 and self.ticks and data.strip():
            self.ticks[-1][1] = (self.ticks[-1][1] + ' ' + data).strip()

    def rows(self, name):
        return self.tables['e-' + name.replace(' ', '.')][1:]


class Looker:
    def __init__(self, report, folder):
        self.report, self.folder, self.faults, self.what = report, folder, [], ''

    def want(self, condition, *words):
        if not condition:
            self.faults.append('%s: %s' % (self.what, ' '.join(str(w) for w in words)))

    def same(self, wanted, found, what):
        self.want(wanted == found, '%s: expected %r, found %r' % (what, wanted, found))

    def run(self, conf, *words, status=0, env=None, **more):
        done = subprocess.run([self.report, '-c', '%s/%s.conf' % (self.folder, conf), *words],
                              capture_output=True, env={**os.environ, **(env or {})}, check=False,
                              **more)
        self.want(done.returncode == status, words, 'ends with', done.returncode, 'and',
                  done.stderr.decode())
        self.want(b'Sanitizer' not in done.stderr, done.stderr.decode()[:2000])
        return done

    def page(self, conf, begin, end, *more, status=0):
        """The page of a window, its JSON beside it; both are looked at as any page is."""
        path = '%s/%s.html' % (self.folder, conf)
        window = '--from', str(begin), '--to', str(end)
        self.what = '%s %s..%s' % (conf, begin, end)
        self.run(conf, 'morning', *window, '-o', path, *more, status=status)
        faults, _ = pagesource.check(path, never=('<b>"one"', '&lt;</script>', "& 'two'"))
        self.faults += ['%s: %s' % (self.what, fault) for fault in faults]
        page = Page(path)
        self.digest = json.loads(self.run(conf, 'morning', *window, '--format', 'json',
                                          status=status).stdout)
        text = self.run(conf, 'morning', *window, '--format', 'text', status=status).stdout
        self.same(page.heading, self.digest['headline'], 'headline of page and JSON')
        self.want(page.heading in ' '.join(text.decode().split()), 'the text has another headline')
        self.want('nan' not in text.decode().lower().split(), 'the text says nan')
        self.same(len(page.tables), len(self.digest['enclosures']), 'sections')
        return page

    def one(self, name):
        return [e for e in self.digest['enclosures'] if e['name'] == name][0]

    def graph(self, conf, name, begin, end, status=0):
        path = '%s/graph.png' % self.folder
        window = '--from', str(begin), '--to', str(end)
        self.what = 'graph of %s %s %s..%s' % (conf, name, begin, end)
        self.run(conf, 'graph', name, *window, '-o', path, status=status)
        svg = self.run(conf, 'graph', name, *window, '--format', 'svg', status=status).stdout
        if status:
            return ''
        with open(path, 'rb') as file:
            data = file.read()
        self.want(data[:8] == b'\x89PNG\r\n\x1a\n' and len(data) > 2000, 'no PNG')
        self.want(not re.search(r'[="\s,]-?(nan|inf)\b', svg.decode()), 'a number that is none')
        return ''.join(xml.etree.ElementTree.fromstring(svg).itertext())


def local(at):
    return datetime.datetime.fromtimestamp(at, ZONE).strftime('%Y-%m-%d %H:%M')



# ---- the cases ---------------------------------------------------------------------

def crossing(value, other=20, edge=22):
    """Seconds below the edge on the straight line between two readings."""
    return EVERY * (edge - other) / (value - other)


def hours(seconds):
    minutes = round(seconds / 60)
    return '%d:%02d' % (minutes // 60, minutes % 60)


def shown(value, quantity, units):
    if quantity == 'humidity':
        return '%.0f %%' % value
    return '%.1f °%s' % (value * 1.8 + 32 if units == 'F' else value, units)


def share(part):
    percent = round(part * 100)
    return '<1 %' if not percent else '>99 %' if percent == 100 and part < 1 else '%d %%' % percent


def cells(look, page, one, span, units='C'):
    """The table of an enclosure says what JSON says of it."""
    for place, row in zip(one['places'], page.rows(one['name'])):
        wanted = {}
        for head, key in (('below', 'low'), ('above', 'high'), ('inside', 'inside'),
                          ('unknown', 'unknown')):
            value = place[key + '_seconds']
            wanted[head] = '%s %s' % (hours(value), share(value / span)) if value else '–'
        for head, key in (('lowest', 'min'), ('mean', 'mean'), ('highest', 'max')):
            value = place[key]
            wanted[head] = '–' if value is None else shown(value, place['quantity'], units)
        found = {head: row[head] for head in wanted}
        for head in 'lowest', 'highest':    # without when it was
            found[head] = ' '.join(row[head].split()[:2])
        look.same(wanted, found, 'the table of %s %s' % (one['name'], place['quantity']))
        banded = place['low_seconds'] is not None and place['mean'] is not None
        look.same(str(place['excursions']) if banded else '–', row['excursions'], 'excursions')


def month(look):
    page = look.page('month', MONTH, MONTH_END)
    span = MONTH_END - MONTH
    low = COLD[1] - COLD[0] + crossing(usual(COLD[0] - EVERY)) + crossing(usual(COLD[1] + EVERY))
    week = HOLE[1] - HOLE[0] + EVERY
    unknown = {'A1': week, 'B two': week + MISSED[1] - MISSED[0] + EVERY, 'late': LATE - MONTH,
               'unk': span - 3600, 'never': span}
    for one in look.digest['enclosures'][:-1]:
        place = one['places'][0]
        cells(look, page, one, span)
        look.want(abs(place['unknown_seconds'] - unknown[one['name']]) < 0.01, one['name'],
                  'is unknown for', place['unknown_seconds'], 'not', unknown[one['name']])
        wanted = low if one['name'] == 'A1' else 0
        look.want(abs(place['low_seconds'] - wanted) < 0.01, one['name'], 'is below for',
                  place['low_seconds'], 'not', wanted)
        known = (span - unknown[one['name']]) / span
        look.want(abs(one['known'] - known) < 1e-6, one['name'], 'known', one['known'], known)
    for name, label in LABELS.items():
        look.want(label in page.text, label, 'is not on the page')
        look.want('#e-' + name.replace(' ', '.') in page.links, name, 'has no link')
    look.want('All were in' not in page.text, 'all is well')
    look.want('There is no record of it yet' in page.text, 'no record is not said')
    needs = {one['name']: one['need'] for one in look.digest['enclosures']}
    look.same({'A1': 'strayed', 'B two': 'nothing', 'late': 'nothing', 'unk': 'look',
               'never': 'look', 'room': 'no band'}, needs, 'needs')


def holes(look):
    """A day inside the hole, one before the archive, one to come: nothing is known, and so said."""
    for begin, end in ((HOLE[0] + DAY, HOLE[0] + 2 * DAY), (MONTH - 400 * DAY, MONTH - 399 * DAY),
                       (MONTH - 4 * 365 * DAY, MONTH - 365 * DAY)):
        page = look.page('month', begin, end)
        look.same('Nothing was recorded in this time.', page.heading, 'headline')
        look.same(0, look.digest['known'], 'known')
    page = look.page('month', MONTH_END + 1000 * DAY, MONTH_END + 1001 * DAY)
    look.same('Nothing was recorded in this time; the newest record is of %s.'
              % local(MONTH_END), page.heading, 'headline of the future')
    page = look.page('month', HOLE[0] - DAY // 2, HOLE[0] + DAY // 2)
    # To the end of its ten-minute row.
    look.same('Nobody was watching: nothing was recorded after %s.'
              % local(HOLE[0])[11:], page.heading, 'headline of a night cut off')
    page = look.page('month', MISSED[0], MISSED[1] - EVERY)
    # The mark keeps what follows an Arabic word in its place.
    look.want('Змея Φίδι 蛇の家 ثعبان\u200e silent' in page.heading, 'who is silent:', page.heading)
    page = look.page('month', MONTH - 3 * 365 * DAY, MONTH_END)
    look.want('From hour rows' in page.text, 'it does not say which rows')
    page = look.page('month', COLD[0], COLD[0] + 60)
    look.same(60.0, look.one('A1')['places'][0]['low_seconds'], 'below in a minute')
    page = look.page('month', LATE - DAY, LATE + DAY)
    late = look.one('late')
    look.want(abs(late['known'] - 0.5) < 0.01, 'added half-way, known', late['known'])


def nights(look):
    """23 and 25 hours, midnight to midnight."""
    for change, length, ahead, ahead_after in ((SPRING, 23, 3600, 7200),
                                               (AUTUMN, 25, 7200, 3600)):
        day = datetime.datetime.fromtimestamp(change, ZONE).date()
        begin = int(datetime.datetime(day.year, day.month, day.day, tzinfo=ZONE).timestamp())
        end = begin + length * 3600
        page = look.page('nights', begin, end)
        look.want('(%s)' % ('23 h' if length == 23 else '1 d 1 h') in page.text,
                  'its length is not said')
        zone = [tuple(map(int, one.split(':'))) for one in page.body['data-zone'].split()]
        look.same([ahead, ahead_after], [seconds for _, seconds in zone], 'zone')
        look.want(zone[0][0] <= begin, 'the zone begins late')
        look.same(change, zone[1][0], 'when the clocks change')
        look.want(len(page.ticks) >= 7, 'ticks', page.ticks)
        for percent, label in page.ticks:
            at = begin + percent / 100 * (end - begin)
            wanted = datetime.datetime.fromtimestamp(round(at / 60) * 60, ZONE).strftime('%H:%M')
            look.want(label.startswith(wanted), 'the tick at', wanted, 'says', label)
        # The night before, to 08:00, and the next, from 20:00: on strip and graphs.
        look.want(page.nights >= 4 and page.nights % 2 == 0, page.nights, 'nights')
        place = look.digest['enclosures'][0]['places'][0]
        look.want(abs(place['inside_seconds'] - length * 3600) < 0.01, place)
        text = look.graph('nights', 'A1', begin, end)
        look.want('06:00' in text and '07:00' not in text, 'the hours of the graph are', text)


def rooms(look):
    """None configured, one enclosure only, no enclosure, nothing at all, a hundred."""
    page = look.page('single', MONTH_END - DAY, MONTH_END)
    look.same(HOSTILE + ' did not need you.', page.heading, 'headline of one')
    look.want('Room air' not in page.text, 'there is no room')
    page = look.page('bare', MONTH_END - DAY, MONTH_END)
    look.same('None of the two needed you.', page.heading, 'headline of two')
    page = look.page('none', MONTH_END - DAY, MONTH_END)
    look.same('No enclosure is configured.', page.heading, 'headline of none')
    look.want('Room air: 20.1 °C' in page.text or 'Room air: 20.0 °C' in page.text, 'no room air')
    page = look.page('empty', MONTH_END - DAY, MONTH_END)
    look.same('No enclosure is configured.', page.heading, 'headline of nothing')
    # One that has no probe: nothing is missing there, and nothing is said of it.
    page = look.page('odd', COLD[0] - DAY, COLD[0] - EVERY)
    look.same('None of the two needed you.', page.heading, 'headline with one without a probe')
    look.same(1, look.digest['known'], 'known, of one')
    cells(look, page, look.one('A1'), COLD[0] - EVERY - COLD[0] + DAY, 'F')
    look.same(b'', look.run('odd', 'totals').stderr, 'said of a probe that is not')
    page = look.page('hundred', MONTH, MONTH + 10800)
    look.same(100, len(page.tables), 'sections of a hundred')
    look.same('None of the 100 needed you.', page.heading, 'headline of a hundred')
    look.want('39 were out of their bands at the end, within what is tolerated: E0, E1, E99 and 36 more.' in page.text,
              look.digest['others'])


def graphs(look):
    for name in 'A1', 'B two', 'late', 'unk', 'room':
        text = look.graph('month', name, MONTH, MONTH_END)
        look.want(LABELS.get(name, 'room') in text or name == 'late', 'no label', text[:200])
        look.graph('month', name, MONTH - 3 * 365 * DAY, MONTH_END)
    for begin, end in ((HOLE[0], HOLE[1]), (MONTH_END, MONTH_END + DAY), (COLD[0], COLD[0] + 60),
                       (MONTH - 2 * DAY, MONTH - DAY)):
        look.graph('month', 'A1', begin, end)
    look.graph('month', 'never', MONTH, MONTH_END, status=1)
    look.graph('hundred', 'E99', MONTH, MONTH + 10800)


def locales(look):
    """The same whatever the locale, but for when it was made."""
    look.what = 'locales'
    made = []
    for name in 'C', 'C.UTF-8', 'de_DE.UTF-8', 'fa_IR.UTF-8':
        out = look.run('month', 'morning', '--from', str(MONTH), '--to', str(MONTH_END),
                       env={'LC_ALL': name, 'LANGUAGE': 'de'}).stdout.decode()
        made.append(re.sub(r'Made [^.]*\.|data-made="[0-9]*"', '', out))
    for other in made[1:]:
        look.want(made[0] == other, 'the page depends on the locale')


def main():
    if sys.argv[1] == 'record':
        record(sys.argv[2])
        return 0
    look = Looker(sys.argv[2], sys.argv[3])
    for case in month, holes, nights, rooms, graphs, locales:
        case(look)
    for fault in look.faults:
        print(fault)
    return 1 if look.faults else 0


if __name__ == '__main__':
    sys.exit(main())
