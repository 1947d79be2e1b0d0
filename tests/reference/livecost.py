# SPDX-License-Identifier: GPL-3.0-or-later
"""What a running daemon costs: for bench-live.sh.

    livecost.py DAEMON CONF STATE BUSES SECONDS LIBRARIES ENCLOSURES

Starts the daemon on a room that is served already, with the libraries of that
folder, and prints one line of numbers:

    READY_WALL READY_CPU OPEN_WALL SECONDS READINGS WATCHER ARCHIVIST COURIER PSS

wall and CPU seconds from exec to "watching", wall seconds until all ports are
open; then, when all probes were read and all archives are there, over so many
seconds: readings taken, CPU seconds of the three processes, and their Pss in kB
(the most of three looks).  CPU is /proc/PID/schedstat, in ns, user and system;
what the kernel does for them later (writing back pages) is in no process.  With SECONDS 0
it is ended as soon as all archives are there, and the rest is 0.
"""

import json
import os
import signal
import subprocess
import sys
import time

PATIENCE = 300      # s until the daemon must be where it is waited for


def cpu_of(pid):
    """s, of all its threads."""
    total = 0
    for task in os.listdir('/proc/%d/task' % pid):
        with open('/proc/%d/task/%s/schedstat' % (pid, task)) as file:
            total += int(file.read().split()[0])
    return total / 1e9


def pss_of(pid):
    """kB"""
    with open('/proc/%d/smaps_rollup' % pid) as file:
        return sum(int(line.split()[1]) for line in file if line.startswith('Pss:'))


def children_of(pid):
    """The archivist, then the courier, in the order they were begun in."""
    with open('/proc/%d/task/%d/children' % (pid, pid)) as file:
        return sorted(int(child) for child in file.read().split())


def told(daemon, begun, wanted, buses, log):
    """Reads what the daemon says up to `wanted`, and on until all buses are open."""
    ready = None
    opened = 0
    while ready is None or opened < buses:
        line = daemon.stderr.readline()
        if not line:
            sys.exit('the daemon has ended: see ' + log.name)
        log.write(line)
        log.flush()
        if wanted in line:
            ready = (time.monotonic() - begun, cpu_of(daemon.pid))
        opened += line.endswith(b' is open\n')
    return ready + (time.monotonic() - begun,)


def now(state, pid):
    """Readings of all probes and those of the slowest; (0, 0) before that daemon says so."""
    try:
        with open(state + '/now.json') as file:
            said = json.load(file)
    except OSError:
        return 0, 0
    read = [probe['read'] for probe in said['probes'] if said['pid'] == pid] or [0]
    return sum(read), min(read)


def archives(state):
    return sum(name.endswith('.rrd') for name in os.listdir(state + '/archive'))


def wait_for(what, condition):
    until = time.monotonic() + PATIENCE
    while not condition():
        if time.monotonic() > until:
            sys.exit('not within %d s: %s' % (PATIENCE, what))
        time.sleep(1)


def steady(daemon, state, seconds, enclosures):
    wait_for('every probe read', lambda: now(state, daemon.pid)[1] >= 2)
    wait_for('every archive there', lambda: archives(state) >= enclosures)
    if seconds == 0:
        return [0] * 6
    pids = [daemon.pid] + children_of(daemon.pid)
    if len(pids) != 3:
        sys.exit('the daemon has %d processes' % len(pids))
    begun, read = time.monotonic(), now(state, daemon.pid)[0]
    before = [cpu_of(pid) for pid in pids]
    time.sleep(seconds)
    spent = [cpu_of(pid) - was for pid, was in zip(pids, before)]
    took, read = time.monotonic() - begun, now(state, daemon.pid)[0] - read
    pss = 0
    for _ in range(3): # at different moments of a minute
        pss = max(pss, sum(pss_of(pid) for pid in pids))
        time.sleep(5)
    return [took, read] + spent + [pss]


def main():
    program, conf, state, buses, seconds, libraries, enclosures = sys.argv[1:]
    environment = dict(os.environ, LD_LIBRARY_PATH=libraries)
    with open(state + '.log', 'ab') as log:
        begun = time.monotonic()
        daemon = subprocess.Popen([program, '-c', conf], stderr=subprocess.PIPE,
                                  env=environment)
        figures = list(told(daemon, begun, b'watching ', int(buses), log))
        keep = subprocess.Popen(['cat'], stdin=daemon.stderr, stdout=log) # it must not wait for us
        figures += steady(daemon, state, float(seconds), int(enclosures))
        daemon.send_signal(signal.SIGTERM)
        daemon.wait()
        keep.wait()
    if daemon.returncode:
        sys.exit('the daemon ended with %d' % daemon.returncode)
    print(*('%.6f' % figure for figure in figures))


main()
