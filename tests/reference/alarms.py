# SPDX-License-Identifier: GPL-3.0-or-later
"""alarms.py CASE WORK: what was told of one fault, against what had to be.

WORK holds room.conf and, named after the case, CASE.csv (the recording),
CASE.json (its faults, written by roomsim) and CASE.jsonl (what the receiver
got).  Demands one message with `raised`, at most one with `worsened`, one with
`cleared`, the right cause in its words, and a detection no later than patience
explains.  An air that the fault leaves wrong for more than its species' `daily`
may be told once on top, with its own end.
"""

import json
import os
import re
import sys

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import told

GATHERED = 600          # s: two polls to a minute, and the time for gathering
CHATTERING = 3600       # s: three raised and cleared in an hour are chattering
ALLOWANCE = 'Within 24 hours it was outside its band'

# What the one raising message must say: its title, and title and text together.
WANTED = {
    'power-cut': (r'^Room\b.*\bcold\b', r'(?i)power'),
    'stuck-heater': (r'^Old cupboard\b.*\b(hot|heat)', r'(?i)heater|thermostat'),
    'dry-air': (r'^Room\b.*\bdry\b', r'(?is)room.*\b(dry air|air|humid)'),
    'chattering': (r'^Long cabinet\b.*\bprobe\b', r'(?i)contact|plug|cable|wiring'),
}


def judge(case, work):
    conf = told.Conf(work + '/room.conf')
    fault = json.load(open('%s/%s.json' % (work, case)))['faults'][0]
    messages = told.messages('%s/%s.jsonl' % (work, case))
    faults = []
    for message in messages:
        print('   ', message)
    extra = by_allowance(messages)
    messages = [message for message in messages if message not in extra]
    for event, most in (('raised', 1), ('worsened', 1), ('cleared', 1)):
        count = sum(event in message.events for message in messages)
        if count > most or count < (event != 'worsened'):
            faults.append('%d messages with %s' % (count, event))
    raised = next((message for message in messages if 'raised' in message.events), None)
    if not raised:
        return faults
    title, text = WANTED[case]
    if not re.search(title, raised.title):
        faults.append('the title names another cause: %s' % raised.title)
    if not re.search(text, raised.title + '\n' + raised.text):
        faults.append('the text does not name the cause: %s' % raised.text)
    return faults + when(case, conf, fault, raised, work)


def series(message):
    return {(alert.get('enclosure'), alert.get('place'), alert.get('quantity'))
            for alert in message.alerts}


def by_allowance(messages):
    """The first raising that says so, and what is told of that series alone from then on."""
    for message in messages:
        if message.events == {'raised'} and ALLOWANCE in message.text:
            return [other for other in messages
                    if other.at >= message.at and series(other) == series(message)]
    return []


def when(case, conf, fault, raised, work):
    if case == 'chattering':
        due = fault['from'] + CHATTERING
    else:
        watch = told.Watch(conf, [probe for probe, (enclosure, _) in conf.seats.items()
                                  if fault['name'] in ('room', enclosure)],
                           ['humidity' if case == 'dry-air' else 'temperature'])
        with open('%s/%s.csv' % (work, case), encoding='utf-8') as stream:
            for at, probe, values in told.rows(stream):
                if at >= fault['from'] - 3600:
                    watch.take(at, probe, values)
        due = watch.due()
        if due is None:
            return ['this fault never had to be told']
    print('    detected %s after the onset; by its patience it was due after %s' %
          (told.span(raised.at - fault['from']), told.span(due - fault['from'])))
    if raised.at < fault['from']:
        return ['told before it began']
    return ['told %s too late' % told.span(raised.at - due)] if raised.at > due + GATHERED else []


def main():
    case, work = sys.argv[1:]
    faults = judge(case, work)
    for fault in faults:
        print('    %s: %s' % (case, fault))
    return 1 if faults else 0


sys.exit(main())
