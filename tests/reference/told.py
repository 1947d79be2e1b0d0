# SPDX-License-Identifier: GPL-3.0-or-later
"""What a keeper was told, and what a keeper had to be told: shared by the
checks of alarms, and independent of the project's own code.

Told is what the webhook's receiver wrote down.  What had to be told follows
from the recording and the configuration roomsim writes, by the rules of the
manual: time outside the band within one episode reaches its patience; a
temperature beyond its limits is confirmed by a second reading; a humidity is
beyond them for two hours; a probe gives nothing for ten minutes.
"""

import calendar
import json
import re
import time

DEADBAND = {'temperature': 0.5, 'humidity': 3.0}
OFF_DELAY = 300
LIMITS_PATIENCE = 7200
SILENT_AFTER = 600
DAY, NIGHT, CHANGEOVER = 8 * 3600, 20 * 3600, 5400
UPKEEP_OF_OWN = ('untested',)


class Rule:
    def __init__(self, text):
        values = dict(re.findall(r'(\w+) = "([^"]*)"', text))
        self.day = self.range(values['day'])
        self.night = self.range(values.get('night', values['day']))
        self.limits = self.range(values['limits']) if 'limits' in values else None
        number, unit = re.fullmatch(r'(\d+)(h|min)', values['patience']).groups()
        self.patience = int(number) * (3600 if unit == 'h' else 60)

    @staticmethod
    def range(text):
        return tuple(float(x) for x in re.match(r'([\d.]+)\.\.([\d.]+) ', text).groups())

    def band(self, at):
        """The band in force (the scripts' local time is UTC)."""
        clock = at % 86400
        if (clock - DAY) % 86400 < CHANGEOVER or (clock - NIGHT) % 86400 < CHANGEOVER:
            return min(self.day[0], self.night[0]), max(self.day[1], self.night[1])
        return self.day if DAY <= clock < NIGHT else self.night


class Conf:
    """roomsim's own configuration; its layout is regular."""

    def __init__(self, path):
        self.rules = {}         # (species or 'room', place, quantity): Rule
        self.seats = {}         # probe: (enclosure, place)
        self.species = {}       # enclosure: species
        self.bus = {}           # probe: bus
        self.labels = {'room': 'Room'}
        self.corrections = {}   # probe: {quantity: offset}
        section = place = None
        for line in open(path, encoding='utf-8'):
            head = re.match(r'(species|enclosure) "([^"]+)"', line)
            if head:
                section = head.groups()
            elif line.startswith('room {'):
                section, place = ('room', 'room'), 'air'
            elif line.startswith('probe '):
                self.read_probe(line)
            if section and section[0] == 'enclosure':
                self.read_enclosure(section[1], line)
            elif section:
                self.read_rules(section, line)
                opened = re.match(r'\t(\w+) \{$', line)
                place = opened.group(1) if opened else place
                rule = re.match(r'\t+(temperature|humidity) \{(.*)\}', line)
                if rule:
                    self.rules[section[1], place, rule.group(1)] = Rule(rule.group(2))

    def read_probe(self, line):
        name, bus = re.match(r'probe "([^"]+)" \{ bus = "([^"]+)"', line).groups()
        self.bus[name] = bus
        self.corrections[name] = {quantity: float(offset) for quantity, offset in re.findall(
            r'(\w+)_correction = "(-?[\d.]+) ', line)}

    def read_enclosure(self, name, line):
        label = re.search(r'label = "([^"]+)"  species = "([^"]+)"', line)
        seat = re.match(r'\t(\w+) \{ probe = "([^"]+)" \}', line)
        if label:
            self.labels[name], self.species[name] = label.groups()
        if seat:
            self.seats[seat.group(2)] = name, seat.group(1)

    def read_rules(self, section, line):
        seat = re.match(r'\tprobe = "([^"]+)"', line)
        if section[0] == 'room' and seat:
            self.seats[seat.group(1)] = 'room', 'air'
            self.species['room'] = 'room'

    def rule(self, probe, quantity):
        enclosure, place = self.seats[probe]
        return self.rules.get((self.species[enclosure], place, quantity))


def share_outside(low, high, a, b):
    """How much of the straight line from a to b lies outside, 0..1."""
    if a == b:
        return float(not low <= a <= high)
    a, b = min(a, b), max(a, b)
    return 1 - max(0.0, min(b, high) - max(a, low)) / (b - a)


class Episode:
    """Time outside one range, until inside by the deadband for a while."""

    def __init__(self):
        self.outside = 0.0
        self.readings = 0
        self.back = None

    def take(self, span, before, low, high, deadband, at, value):
        deadband = min(deadband, (high - low) / 2)
        self.outside += span * share_outside(low, high, before, value)
        if low <= value <= high:
            self.readings = 0
            if not low + deadband <= value <= high - deadband:
                self.back = None
            elif self.back is None:
                self.back = at
            elif at - self.back >= OFF_DELAY:
                self.outside = 0.0
            return
        self.back = None
        self.readings += 1


class Series:
    """One probe's quantity: the first moment after the onset at which it had to be told."""

    def __init__(self, rule, quantity):
        self.rule, self.quantity = rule, quantity
        self.band, self.limits = Episode(), Episode()
        self.last = self.due = self.before = None

    def take(self, at, value):
        if self.due is not None:
            return
        joined = self.last is not None and at - self.last <= 180
        span, before = (at - self.last, self.before) if joined else (0, value)
        self.last, self.before = at, value
        deadband = DEADBAND[self.quantity]
        self.band.take(span, before, *self.rule.band(at), deadband, at, value)
        beyond = False
        if self.rule.limits:
            self.limits.take(span, before, *self.rule.limits, deadband, at, value)
            beyond = self.limits.readings >= 2 if self.quantity == 'temperature' \
                else self.limits.outside >= LIMITS_PATIENCE
        if beyond or self.band.outside >= self.rule.patience:
            self.due = at


class Watch:
    """All series of some probes from one moment on."""

    def __init__(self, conf, probes, quantities=('temperature', 'humidity')):
        self.conf, self.series = conf, {}
        for probe in probes:
            for quantity in quantities:
                rule = conf.rule(probe, quantity)
                if rule:
                    self.series[probe, quantity] = Series(rule, quantity)

    def take(self, at, probe, values):
        for quantity, text in zip(('temperature', 'humidity'), values):
            series = self.series.get((probe, quantity))
            if series and text:
                series.take(at, float(text) + self.conf.corrections[probe].get(quantity, 0))

    def due(self):
        return min((s.due for s in self.series.values() if s.due is not None), default=None)


def rows(stream):
    next(stream)
    for line in stream:
        at, probe, *values = line.rstrip('\n').split(',')
        yield int(at), probe, values


class Message:
    def __init__(self, body):
        data = body['data']
        self.title, self.text = data['title'], data['text']
        self.alerts = data.get('alerts', [data])
        self.events = {alert['event'] for alert in self.alerts}
        sent = calendar.timegm(time.strptime(body['timestamp'], '%Y-%m-%dT%H:%M:%SZ'))
        self.at = max(sent, *(alert['time'] for alert in self.alerts))
        self.enclosures = {alert.get('enclosure') for alert in self.alerts}
        self.type = body['type']

    def __str__(self):
        return '%s  %s (%s: %s)' % (stamp(self.at), self.title, ' '.join(sorted(self.events)),
                                    ', '.join(sorted({describe(a) for a in self.alerts})))


def describe(alert):
    return ' '.join(str(alert.get(key)) for key in ('enclosure', 'place', 'quantity', 'condition'))


def messages(path):
    """Each once, in the order of the recording; reminders of the tool's own tests aside."""
    seen, found = set(), []
    for line in open(path, encoding='utf-8'):
        request = json.loads(line)
        headers = {key.lower(): value for key, value in request['headers'].items()}
        if headers['webhook-id'] in seen:
            continue
        seen.add(headers['webhook-id'])
        message = Message(json.loads(request['body']))
        if any(alert.get('condition') not in UPKEEP_OF_OWN and alert['event'] != 'test'
               for alert in message.alerts):
            found.append(message)
    return sorted(found, key=lambda message: message.at)


def stamp(at):
    return time.strftime('%Y-%m-%d %H:%M', time.gmtime(at))


def span(seconds):
    minutes = round(seconds / 60)
    return '%d h %02d min' % divmod(minutes, 60) if minutes >= 60 else '%d min' % minutes
