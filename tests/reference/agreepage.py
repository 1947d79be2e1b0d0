# SPDX-License-Identifier: GPL-3.0-or-later
"""The page's part of agree.py: its tables, its lists, and the labels on its
graphs, which must stand where their number is on the scale as well."""

import html.parser
import re
from fractions import Fraction

VOID = {'br', 'img', 'input', 'link', 'meta', 'path', 'rect'}


class Node:
    def __init__(self, tag, given):
        self.tag, self.given, self.inside = tag, given, []

    def text(self):
        return ''.join(one if isinstance(one, str) else one.text() for one in self.inside)

    def all(self, tag, word=None):
        """Below it, those of the tag, and of the class."""
        for one in self.inside:
            if isinstance(one, str):
                continue
            if one.tag == tag and (word is None or word in one.given.get('class', '').split()):
                yield one
            yield from one.all(tag, word)

    def one(self, tag, word=None):
        return next(self.all(tag, word))

    def style(self, name):
        return Fraction(re.search(name + r':(-?[\d.]+)%', self.given['style']).group(1))


class Tree(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.open = [Node('', {})]
        self.feed(text)
        self.close()

    def handle_starttag(self, tag, attrs):
        node = Node(tag, dict(attrs))
        self.open[-1].inside.append(node)
        if tag not in VOID:
            self.open.append(node)

    def handle_startendtag(self, tag, attrs):
        self.open[-1].inside.append(Node(tag, dict(attrs)))

    def handle_endtag(self, tag):
        while len(self.open) > 1 and self.open.pop().tag != tag:
            pass

    def handle_data(self, data):
        self.open[-1].inside.append(data)


def check(report, morning, parts, text, head, words):
    tree = Tree(text).open[0]
    report.equal(morning['headline'], tree.one('h1').text(), 'the page')
    paragraphs = [p.text() for p in tree.one('header').all('p')]
    for sentence in head:
        report.equal(True, any(p.startswith(sentence) for p in paragraphs), 'the page says', sentence)
    if morning['others']:
        report.equal(morning['others'], paragraphs[0], 'the page')
    lines = [n.text() for n in tree.one('section', 'sheet').all('span', 'words')]
    for e, line in zip(morning['enclosures'], lines, strict=True):
        report.equal(e['complaint'] or '', line if e['complaint'] else '', 'the room sheet on', e['name'])
    alerts = report.json('alerts')['history']
    limits = {e['name']: {(p['place'], p['quantity']): p['limits'] for p in e['places']}
              for e in report.json('now')['enclosures']}
    for e in morning['enclosures']:
        section = next(n for n in tree.all('section') if n.given.get('id') == 'e-' + e['name'])
        check_section(report, section, e, parts, words)
        for s, figure in zip(e['places'], section.all('figure'), strict=True):
            about = e['name'], words.phrase(s), 'on the graph'
            report.equal('%s, %s: %s' % ('Room' if e['name'] == 'room' else e['label'], words.phrase(s), s['finding']),
                         figure.one('svg').given['aria-label'], *about)
            scale = Scale(report, figure, s['quantity'])
            check_labels(report, figure, s, scale, limits[e['name']].get((s['place'], s['quantity'])), about)
            check_marks(report, figure, s, [a for a in alerts if (a['enclosure'], a['place'], a['quantity']) == (
                e['name'], s['place'], s['quantity'])], about)


def check_section(report, section, e, parts, words):
    about = 'the page on', e['name']
    report.equal(e['finding'] + '.', section.one('p', 'finding').text(), *about)
    changes = ['%s: %s.' % (words.phrase(s).capitalize(), s['change']) for s in e['places'] if s['change']]
    report.equal(changes, [p.text() for p in section.all('p', 'note')][:len(changes)], *about)
    for s, row in zip(e['places'], section.one('tbody').all('tr'), strict=True):
        report.equal(words.phrase(s), row.one('th').text(), *about)
        cells = words.cells_of(report, s)
        report.equal(len(cells), len(list(row.all('td'))), *about)
        for cell in row.all('td'):
            report.equal(cells[cell.given['data-head']].strip(), cell.text(), *about, words.phrase(s),
                         cell.given['data-head'])
    check_list(report, section, e, parts, words, about)


def check_list(report, section, e, parts, words, about):
    """The excursions one by one, in words, and the short ones in one."""
    everything = [(s, x) for s in e['places'] for x in parts.get((e['name'], s['place'], s['quantity']), [])]
    lists = [one for one in section.all('details') if one.given.get('class') != 'calm']
    if not everything:
        report.equal(0, len(lists), *about, 'without an excursion')
        return
    count = len(everything)
    report.equal('%d excursion%s' % (count, '' if count == 1 else 's'), lists[0].one('summary').text(), *about)
    found = [li.text() for li in lists[0].all('li')]
    for s, x in everything:
        if not words.is_told(x):
            continue
        worst = report.value(x['worst'], s['quantity'])
        report.equal({'%s %s its band from %s to %s, %s, %s %s%s' % (
            words.phrase(s), x['side'], report.brief(x['from']),
            'now' if x['to'] is None else report.brief(x['to']), span,
            'lowest' if x['side'] == 'below' else 'highest', worst,
            ', beyond its limits' if x['beyond_limits'] else '') for span in words.durations(x['seconds'])},
            found.pop(0), *about, 'excursion')
    rest = words.rest_sentence([x for _, x in everything])
    if rest:
        report.equal(rest, found.pop(0), *about, 'the short ones')
    report.equal([], found, *about, 'excursions too many')


class Scale:
    """Where on a graph a value and an instant are, in % of its height and width."""

    def __init__(self, report, figure, quantity):
        self.report, self.quantity = report, quantity
        self.high = Fraction(figure.one('div', 'plot').given['data-high'])
        self.height = Fraction(figure.one('svg').given['viewbox'].split()[3]) / 100

    def top(self, shown):
        return (self.high - shown) / self.height * 100

    def shown(self, celsius):
        return celsius * 9 / 5 + 32 if self.quantity == 'temperature' and self.report.fahrenheit else celsius

    def left(self, instant):
        return (instant - self.report.begin) * 100 / self.report.span


def check_labels(report, figure, s, scale, limits, about):
    # The height is rounded up to a hundredth of a unit: a little more than what is written.
    near = Fraction(1, 20) + 1 / scale.height
    values = list(figure.all('span', 'value'))
    for label in values:
        number = Fraction(re.match(r'-?[\d.]+', label.text()).group())
        report.about(label.style('top') - scale.top(number), near, *about, label.text())
    for label, key, word in (('least', 'min', 'lowest'), ('most', 'max', 'highest')):
        found = list(figure.all('span', label))
        report.equal(0 if s[key] is None else 1, len(found), *about, label)
        for span in found:
            report.equal('%s %s, %s' % (word, report.value(s[key], s['quantity']), report.brief(s[key + '_time'])),
                         span.text(), *about)
            report.about(span.style('top') - scale.top(scale.shown(s[key])), near, *about, 'height', label)
            report.about(span.style('left') - scale.left(s[key + '_time']), Fraction(1, 100), *about, 'place', label)
    for label in figure.all('span', 'edge'):
        report.equal({'limit ' + report.edge(x, s['quantity']) for x in limits or ()},
                     re.sub(r'\.0(?= )', '', label.text()), *about)


def check_marks(report, figure, s, alerts, about):
    right = {'misted ' + report.brief(at) for at in s['mistings'] or ()}
    words = {'raised': 'alert', 'worsened': 'worse', 'cleared': 'over'}
    right |= {'%s %s' % (words[a['event']], report.brief(a['time'])) for a in alerts if a['event'] in words}
    for mark in figure.all('span', 'mark'):
        report.equal(right, mark.text(), *about)
