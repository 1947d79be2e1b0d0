# SPDX-License-Identifier: GPL-3.0-or-later
"""A board on a pseudo-terminal whose values stray all the time.

    alertboard.py conf PROBES PLACES   the probes and enclosures, for warmside.conf
    alertboard.py serve LINK PROBES RATE CALM_FILE SEED

serve prints lines of "NAME TEMPERATURE HUMIDITY", five times a second, on the
terminal behind LINK.  RATE times a second a quantity of some probe leaves its
band, then passes its limits, then comes home; each of them does so twice at
most, since what is raised three times in an hour chatters, and then stands
for an hour.  As soon as CALM_FILE is there all come home; 4 s later the probe
"last" passes its limits once, so that nothing less urgent is gathered any
longer.
"""

import fcntl
import os
import pty
import random
import sys
import termios
import time
import tty

TICK = 0.2          # s between two rounds of lines
OUT, BEYOND = 0.6, 0.8   # s outside the band, then beyond the limits
HOME = (25.0, 55.0)
STEP = (2.0, 10.0)  # from home to outside the band, and on to beyond the limits
TIOCNXCL = 0x540D   # asm-generic/ioctls.h

PLACES = ('warm_side', 'cool_side', 'humid_hide', 'hot_spot')
RULES = ('temperature { day = "24..26 C"  limits = "22..28 C"  deadband = "0.5 C"'
         '  patience = "0s"  off_delay = "1s" }',
         'humidity { day = "50..60 %"  limits = "40..70 %"  deadband = "3 %"'
         '  patience = "0s"  limits_patience = "0s"  off_delay = "1s" }')


def names(probes):
    return ['p%d' % i for i in range(probes)] + ['last']


def enclosure(name, places):
    print('enclosure "%s" {' % name)
    for place, probe in places:
        print('\t%s {\n\t\tprobe = "%s"\n\t\t%s\n\t\t%s\n\t}' % (place, probe, *RULES))
    print('}')


def conf(probes, places):
    """So many probes, so many of them in an enclosure; the last is alone."""
    every = names(probes)
    for name in every:
        print('probe "%s" { bus = "board" }' % name)
    for first in range(0, probes, places):
        enclosure('E%d' % (first // places), zip(PLACES, every[first:min(first + places, probes)]))
    enclosure('last', [('warm_side', 'last')])


def terminal(link):
    """The master's end; the slave stays open here, so that a daemon that dies
    hangs up nothing."""
    master, slave = pty.openpty()
    tty.setraw(slave)
    os.set_blocking(master, False)
    aside = link + '.new'
    os.symlink(os.ttyname(slave), aside)
    os.rename(aside, link)
    return master, slave


def say(master, slave, text):
    fcntl.ioctl(slave, TIOCNXCL) # a killed daemon has not given it back
    try:
        if os.write(master, text) == len(text):
            return
    except BlockingIOError:
        pass
    termios.tcflush(slave, termios.TCIFLUSH) # nobody listens just now


def level(age):
    """0 at home, 1 outside the band, 2 beyond the limits."""
    return 1 if 0 <= age < OUT else 2 if OUT <= age < OUT + BEYOND else 0


def serve(link, probes, rate, calm_file, seed):
    rng = random.Random(seed)
    slots = [(name, quantity) for name in names(probes)[:-1] for quantity in (0, 1)]
    plan = rng.sample(slots, len(slots)) + rng.sample(slots, len(slots))
    begun = {} # slot -> (when, side)
    calm = None
    master, slave = terminal(link)
    start, taken = time.monotonic() + 1, 0
    while True:
        now = time.monotonic()
        if calm is None and os.path.exists(calm_file):
            calm, begun = now, {}
            begun['last', 0] = (now + 4, 1)
        while calm is None and taken < len(plan) and now >= start + taken / rate:
            begun[plan[taken]] = (now, rng.choice((-1, 1)))
            taken += 1
        text = ''
        for name in names(probes):
            values = []
            for quantity in (0, 1):
                when, side = begun.get((name, quantity), (now + 1, 1))
                values.append(HOME[quantity] + side * level(now - when) * STEP[quantity] +
                              rng.uniform(-0.2, 0.2))
            text += '%s %.2f %.2f\n' % (name, *values)
        for piece in range(0, len(text), 1000):
            say(master, slave, text[piece:piece + 1000].encode())
        time.sleep(TICK)


if sys.argv[1] == 'conf':
    conf(int(sys.argv[2]), int(sys.argv[3]))
else:
    serve(sys.argv[2], int(sys.argv[3]), float(sys.argv[4]), sys.argv[5], int(sys.argv[6]))
