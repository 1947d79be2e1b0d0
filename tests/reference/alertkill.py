# SPDX-License-Identifier: GPL-3.0-or-later
"""Holds the alert log, what stands, and what a webhook received against each
other, after a daemon was killed again and again.

    alertkill.py STATE HOOK_LOG ERRORS

Every message the log names was received, and no other; what came twice came
with the same id and the same body; a message tells of every alert that the
log says it told; no alert was raised while it stood, and none was forgotten.
Prints figures; one line a fault; exits 1 when there is one.
"""

import collections
import json
import os
import sys

POSTED = ('raised', 'worsened', 'reminded', 'cleared', 'test')
faults = []


def fault(text, *values):
    faults.append(text % values)


def read_log(path, errors):
    """The records, and how many lines are torn: not more than the log said it
    found torn at a start and closed."""
    records, torn = [], 0
    with open(path, 'rb') as file:
        whole = file.read()
    if whole and not whole.endswith(b'\n'):
        fault('the alert log ends in the middle of a line')
    for number, line in enumerate(whole.split(b'\n')[:-1], 1):
        try:
            records.append(json.loads(line))
        except ValueError:
            torn += 1
            if b'}{' in line or line.endswith(b'}'):
                fault('line %d of the alert log is two in one: %s', number, line)
    with open(errors, errors='replace') as file:
        said = file.read().count('last line was torn')
    if torn > said:
        fault('%d lines of the alert log are torn, %d were found so at a start', torn, said)
    return records, torn


def read_hook(path):
    """id -> body, and how many came more than once."""
    bodies, again = {}, 0
    with open(path) as file:
        for line in file:
            request = json.loads(line)
            name, body = request['headers']['webhook-id'], request['body']
            if name in bodies:
                again += 1
                if bodies[name] != body:
                    fault('%s came with two bodies: %s and %s', name, bodies[name], body)
            bodies[name] = body
    return bodies, again


def told_by(bodies):
    """message id -> what tells it: its own body, or a summary that carries it.
    Summaries' own ids are apart."""
    told, summaries = {}, set()
    for name, body in bodies.items():
        data = json.loads(body)
        if data.get('type') != 'alert.summary':
            told.setdefault(name, body)
            continue
        summaries.add(name)
        for message in data['data']['messages']:
            told.setdefault(message, body)
    return told, summaries


def check_messages(records, told):
    logged = collections.defaultdict(list)
    for record in records:
        if record['event'] in POSTED and record.get('message'):
            logged[record['message']].append(record)
    for name in sorted(set(logged) - set(told)):
        fault('%s was never received; it tells %s', name,
              ['%(event)s %(enclosure)s %(place)s %(quantity)s' % r for r in logged[name]])
    for name in sorted(set(told) - set(logged)):
        fault('%s was received, and the log knows nothing of it: %s', name, told[name][:300])
    for name in set(told) & set(logged):
        for record in logged[name]:
            if record['id'] not in told[name] and not joined(record, logged[name]):
                fault('%s does not tell of %s, %s %s', name, record['id'], record['event'],
                      record['enclosure'])
    return logged


def joined(record, others):
    """Is it part of a matter of the room that the same message tells?"""
    return any(other['enclosure'] == '' or other['enclosure'] == 'room' for other in others) or \
        sum(other['quantity'] == record['quantity'] for other in others) >= 3


def check_lives(records):
    """Of each alert, and of each place and quantity."""
    stands, begun = {}, {}
    for record in records:
        event, name = record['event'], record['id']
        if event not in ('raised', 'worsened', 'reminded', 'cleared'):
            continue
        slot = (record['enclosure'], record['place'], record['quantity'],
                record['condition'] if record['quantity'] is None else None)
        if event == 'raised':
            if name in begun:
                fault('%s is raised twice', name)
            if slot in stands:
                fault('%s is raised at %s while %s stands', name, slot, stands[slot])
            begun[name] = stands[slot] = name
            continue
        if stands.get(slot) != name:
            fault('%s is %s at %s, where %s stands', name, event, slot, stands.get(slot))
        if event == 'cleared':
            stands.pop(slot, None)
    for slot, name in stands.items():
        fault('%s at %s was never cleared', name, slot)
    for earlier, later in zip(records, records[1:]):
        if later['time'] < earlier['time'] - 0.001 and later['event'] != 'delivered':
            fault('the log steps back from %f to %f', earlier['time'], later['time'])
    return len(begun)


def check_deliveries(records, logged):
    """The log says of each message that it was taken: unless the watcher was
    killed before it heard so, and the courier had taken it out."""
    delivered = {r['message'] for r in records if r['event'] == 'delivered'}
    return len(set(logged) - delivered)


def check_standing(path):
    with open(path) as file:
        whole = json.load(file)
    for entry in whole['standing']:
        if 'alert' in entry or 'silence' in entry:
            fault('it still stands at the end: %s', entry)
    for key in ('unlogged', 'gathering'):
        if whole.get(key):
            fault('standing.json has %s left: %s', key, whole[key])


def half_written(state):
    """Files that a kill left behind and nobody has cleared away."""
    return sum(name.endswith('.new') for folder in ('', '/outbox', '/requests')
               for name in os.listdir(state + folder))


def main():
    state, hook, errors = sys.argv[1:4]
    records, torn = read_log(state + '/alerts.jsonl', errors)
    bodies, again = read_hook(hook)
    told, summaries = told_by(bodies)
    logged = check_messages(records, told)
    raised = check_lives(records)
    untaken = check_deliveries(records, logged)
    check_standing(state + '/standing.json')
    counts = collections.Counter(r['event'] for r in records)
    print('%d alerts raised, %d worsened, %d cleared, in %d messages; received %d ids, '
          '%d of them summaries, %d posts more than once; %d lines torn; '
          '%d deliveries the log does not know of; %d files half written' %
          (raised, counts['worsened'], counts['cleared'], len(logged), len(bodies),
           len(summaries), again, torn, untaken, half_written(state)))
    for text in faults[:40]:
        print('FAULT:', text)
    print('%d faults' % len(faults))
    sys.exit(bool(faults) or raised == 0)


main()
