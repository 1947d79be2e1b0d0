# SPDX-License-Identifier: GPL-3.0-or-later
"""A year's messages (or fewer days'), judged from outside.

year.py healthy HOOK.jsonl DAYS
    every message; at most one in 30 days.
year.py faulty HOOK.jsonl DAYS FAULTS.json ROOM.conf < RECORDING
    per kind: how many faults, how many told, median and worst time from the
    onset to the message and from the moment it was due by its patience; then
    what was missed, what was late, and what was told besides.  Every fault
    that was due must be told, in time, and no more besides than in a healthy
    year.
"""

import json
import os
import statistics
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import told

LATE = 900              # s: polls, gathering, the rounding of this check
GRACE = 3 * 3600        # s after its end in which a fault may still be told
RECOVERY = 12 * 3600    # s after its end in which what is told comes from it ...
DRIED_OUT = 72 * 3600   # ... and when the ground has dried out
FROZEN_AFTER, CHATTERING = 86400, 3600

TEMPERATURE, HUMIDITY = ('temperature',), ('humidity',)
# Which quantities a fault moves; None: it is about the probe.
MOVES = {
    'stuck-heater': TEMPERATURE, 'dead-heater': TEMPERATURE, 'drift': TEMPERATURE,
    'no-gradient': TEMPERATURE, 'power-cut': TEMPERATURE, 'door-open': TEMPERATURE + HUMIDITY,
    'missed-misting': HUMIDITY, 'dry-air': HUMIDITY,
    'silent': None, 'frozen': None, 'chattering': None,
}


def most(days):
    return max(1, days // 30)


class Fault:
    def __init__(self, record, conf):
        self.kind, self.name = record['kind'], record['name']
        self.begin, self.end = record['from'], record['until']
        self.probes = [probe for probe, (enclosure, _) in conf.seats.items()
                       if self.name in (probe, enclosure, conf.bus[probe]) or
                       (self.name == 'room' and MOVES[self.kind])]
        self.enclosures = {conf.seats[probe][0] for probe in self.probes}
        self.watch = told.Watch(conf, self.probes, MOVES[self.kind] or ())
        self.messages = []

    def take(self, at, probe, values):
        if self.begin - 3600 <= at < self.end + GRACE:
            self.watch.take(at, probe, values)

    def due(self):
        """When it had to be told; None: it never went beyond what is tolerable."""
        length = self.end - self.begin
        if self.kind == 'silent':
            return self.begin + told.SILENT_AFTER if length > told.SILENT_AFTER else None
        if self.kind == 'frozen':
            return self.begin + FROZEN_AFTER if length > FROZEN_AFTER else None
        if self.kind == 'chattering':
            return self.begin + CHATTERING if length > CHATTERING else None
        return self.watch.due()

    def told_by(self, alert):
        if alert.get('enclosure') not in self.enclosures | {'room'}:
            return False
        if self.kind in ('silent', 'frozen'):
            return alert.get('condition') == self.kind
        return self.kind == 'chattering' or alert.get('quantity') in MOVES[self.kind] or \
            alert.get('condition') in ('no_gradient', 'runaway')

    def explains(self, message):
        recovery = DRIED_OUT if self.kind in ('missed-misting', 'dry-air') else RECOVERY
        return self.begin <= message.at < self.end + recovery and \
            bool(message.enclosures & (self.enclosures | {'room'}))

    def first(self):
        for message in self.messages:
            if message.at < self.end + GRACE and \
                    any(a['event'] == 'raised' and self.told_by(a) for a in message.alerts):
                return message
        return None

    def __str__(self):
        return '%s of %s from %s for %s' % (self.kind, self.name, told.stamp(self.begin),
                                            told.span(self.end - self.begin))


def attribute(faults, messages):
    """Gives each message to the fault that explains it; the rest comes back."""
    rest = []
    for message in messages:
        some = [f for f in faults if f.explains(message)]
        fitting = [f for f in some if any(f.told_by(alert) for alert in message.alerts)] or some
        (fitting[-1].messages if fitting else rest).append(message)
    return rest


def table(faults):
    print('%-15s %6s %5s %5s   %s' % ('kind', 'faults', 'due', 'told',
                                      'after the onset: median, worst   after it was due: median, worst'))
    for kind in MOVES:
        some = [f for f in faults if f.kind == kind]
        heard = [(f.first().at - f.begin, f.first().at - f.due()) for f in some
                 if f.first() and f.due()]
        if not some:
            continue
        times = ['%12s' % told.span(x) for column in zip(*heard)
                 for x in (statistics.median(column), max(column))]
        print('%-15s %6d %5d %5d   %s' % (kind, len(some), sum(f.due() is not None for f in some),
                                          sum(f.first() is not None for f in some),
                                          ' '.join(times)))


def never_over(messages):
    """Those of whose alerts none was cleared, in this message's name or another's."""
    over = {alert['id'] for m in messages for alert in m.alerts if alert['event'] == 'cleared'}
    return [m for m in messages if 'raised' in m.events and
            not over & {alert['id'] for alert in m.alerts}]


def is_raising(message):
    return bool(message.events & {'raised', 'worsened'})


def faulty(hook, days, list_path, conf_path):
    conf = told.Conf(conf_path)
    faults = [Fault(record, conf) for record in json.load(open(list_path))['faults']]
    begin = 0
    for at, probe, values in told.rows(sys.stdin):
        while begin < len(faults) and at >= faults[begin].end + GRACE:
            begin += 1
        if begin < len(faults):
            faults[begin].take(at, probe, values)
    messages = told.messages(hook)
    rest = attribute(faults, messages)
    table(faults)
    missed = [f for f in faults if f.due() and not f.first()]
    late = [f for f in faults if f.due() and f.first() and f.first().at > f.due() + LATE]
    for f in faults:
        if not f.due() and not f.first():
            print('harmless, not told:', f)
    for f in missed:
        print('missed:', f, '(due %s)' % told.stamp(f.due()))
    for f in late:
        print('late by %s: %s' % (told.span(f.first().at - f.due()), f))
    for f in faults:
        more = [m for m in f.messages if 'raised' in m.events and m is not f.first()]
        if more:
            print('%d more with raised of: %s' % (len(more), f))
    for message in rest:
        print('besides:', message)
    for message in never_over(messages):
        print('never told to be over:', message)
    extra = sum(is_raising(message) for message in rest)
    print('%d faults, %d messages of them, %d more with raised than faults, %d raising besides' %
          (len(faults), sum(len(f.messages) for f in faults),
           sum('raised' in m.events and m is not f.first() for f in faults for m in f.messages),
           extra))
    return 1 if missed or late or extra > most(days) else 0


def healthy(hook, days):
    messages = told.messages(hook)
    for message in messages:
        print('   ', message)
    print('%d messages in %d healthy days; %d would be tolerable' % (len(messages), days, most(days)))
    return 1 if len(messages) > most(days) else 0


def main():
    what, hook, days = sys.argv[1], sys.argv[2], int(sys.argv[3])
    return healthy(hook, days) if what == 'healthy' else faulty(hook, days, *sys.argv[4:])


sys.exit(main())
