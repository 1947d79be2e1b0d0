# SPDX-License-Identifier: GPL-3.0-or-later
"""Kills the archivist of a running warmsided, again and again.

    killer.py PID TIMES SEED

The archivist is the child of PID that holds the archive folder's lock file
open; the courier never does.  Ends when PID ends or TIMES is reached, and
prints how often it killed.

Lives are drawn evenly over the logarithm of 5 ms to 3 s: some are cut short
at the first file, others get far enough that the daemon, which waits longer
and longer after archivists that did nothing, lets the next one go at once.
"""

import os
import random
import signal
import sys
import time


def children(pid):
    try:
        with open('/proc/%d/task/%d/children' % (pid, pid)) as file:
            return [int(x) for x in file.read().split()]
    except OSError:
        return []


def alive(pid):
    """Runs, and is not just waiting to be buried."""
    try:
        with open('/proc/%d/stat' % pid) as file:
            return file.read().rpartition(')')[2].split()[0] != 'Z'
    except OSError:
        return False


def is_archivist(pid):
    """It holds the lock of the archive folder."""
    try:
        return any(os.readlink('/proc/%d/fd/%s' % (pid, fd)).endswith('/archive/.lock')
                   for fd in os.listdir('/proc/%d/fd' % pid))
    except OSError:
        return False


def main():
    pid, times, rng = int(sys.argv[1]), int(sys.argv[2]), random.Random(int(sys.argv[3]))
    killed, victim, ends = 0, 0, 0.0
    while killed < times and alive(pid):
        time.sleep(0.005)
        found = [child for child in children(pid) if is_archivist(child)]
        if not found:
            continue
        if found[0] != victim:
            victim, ends = found[0], time.monotonic() + 0.005 * 600 ** rng.random()
        if time.monotonic() >= ends:
            try:
                os.kill(victim, signal.SIGKILL)
                killed += 1
            except ProcessLookupError:
                pass
            victim = 0
    print(killed)


if __name__ == '__main__':
    main()
