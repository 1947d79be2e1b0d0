# SPDX-License-Identifier: GPL-3.0-or-later
"""A warmsided whose clocks a test moves (see pace.c), and serial ports that a
test plugs in and out.

Nothing here waits for time to pass: a step sets the clocks, gives the ports
their lines, and is over when the watcher has done all that was due.
"""

import atexit
import mmap
import os
import pty
import select
import signal
import struct
import subprocess
import sys
import time
import tty

from killer import children

PATIENCE = 300          # s of real time for one step, on the busiest machine


class Port:
    """One end of a serial line behind a link.  The other stays open here too, so
    that a daemon that dies hangs up nothing."""

    def __init__(self, link):
        self.link, self.master, self.slave = link, None, None
        self.plug()

    def plug(self, other_name=False):
        """other_name: it comes back under a name it has not had just before."""
        spare = pty.openpty() if other_name else ()
        self.master, self.slave = pty.openpty()
        for fd in spare:
            os.close(fd)
        tty.setraw(self.slave)
        aside = self.link + '.new'
        os.symlink(self.name(), aside)
        os.rename(aside, self.link)

    def name(self):
        return os.ttyname(self.slave)

    def unplug(self):
        os.close(self.slave)
        os.close(self.master)
        os.unlink(self.link)
        self.master = self.slave = None

    def say(self, text):
        return os.write(self.master, text.encode())


class Paced:
    def __init__(self, work, daemon, library, now):
        self.work, self.daemon, self.library = work, daemon, library
        self.now, self.shift = float(now), 0.0
        self.born = self.now - 1000 # when the computer was started
        self.process, self.sent = None, 0
        self.errors = work + '/daemon.err'
        for name in ('step', 'done'):
            os.mkfifo('%s/%s.fifo' % (work, name))
        self.step_fd, self.done_fd = (
            os.open('%s/%s.fifo' % (work, name), os.O_RDWR | os.O_NONBLOCK)
            for name in ('step', 'done'))
        with open(work + '/clock', 'wb') as file:
            file.write(bytes(32))
        with open(work + '/clock', 'r+b') as file:
            self.page = mmap.mmap(file.fileno(), 32)
        self.set_clocks()
        # Whoever ends us ends it too.
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
        atexit.register(self.end_at_once)

    def end_at_once(self):
        if self.process and self.process.poll() is None:
            self.kill()

    def set_clocks(self):
        """The wall clock is off by `shift`."""
        self.page[0:16] = struct.pack('=qq', round((self.now + self.shift) * 1e9),
                                      round((self.now - self.born) * 1e9))

    def taken(self):
        return struct.unpack('=Q', self.page[16:24])[0]

    # ---- its life

    def begin(self):
        for fd in (self.step_fd, self.done_fd):
            try:
                os.read(fd, 65536)
            except BlockingIOError:
                pass
        with open(self.errors, 'ab') as log:
            self.process = subprocess.Popen(
                [self.daemon, '-c', self.work + '/room.conf'], stdout=log, stderr=log,
                env={**os.environ, 'LD_PRELOAD': self.library,
                     'PACE_CLOCK': self.work + '/clock', 'PACE_STEP': self.work + '/step.fifo',
                     'PACE_DONE': self.work + '/done.fifo'})
        self.sent = self.taken()
        self.give(self.now)
        self.wait_done()

    def children(self):
        return children(self.process.pid)

    def kill(self):
        self.process.kill()
        self.process.wait()

    def end(self):
        """An orderly end, during which time passes."""
        self.process.terminate()
        until = time.monotonic() + PATIENCE
        while self.process.poll() is None:
            if time.monotonic() > until:
                sys.exit('the daemon does not end')
            time.sleep(0.002)
            self.now += 0.05
            self.set_clocks()
            self.ask()
        if self.process.returncode != 0:
            sys.exit('the daemon ended with %d' % self.process.returncode)

    # ---- a step

    def ask(self):
        try:
            os.write(self.step_fd, b'.')
        except BlockingIOError:
            pass

    def wait_done(self):
        if not select.select([self.done_fd], [], [], PATIENCE)[0]:
            sys.exit('the daemon does not answer: exit %s, state %s, it has read %d of %d bytes' %
                     (self.process.poll(), state(self.process.pid), self.taken(), self.sent))
        os.read(self.done_fd, 1)

    def give(self, now, lines=()):
        """Sets the clocks on and lets (port, text) come in; does not wait."""
        self.now = now
        self.set_clocks()
        for port, text in lines:
            self.sent += port.say(text)
        self.page[24:32] = struct.pack('=Q', self.sent)
        self.ask()

    def step(self, now, lines=()):
        self.give(now, lines)
        self.wait_done()

    def settle(self):
        """Until neither it nor a child of it works any more."""
        until = time.monotonic() + PATIENCE
        busy = True
        while busy and time.monotonic() < until:
            # One that has come to rest may have given another something to do.
            busy = False
            for pid in self.children() + [self.process.pid]:
                while state(pid) in ('R', 'D') and time.monotonic() < until:
                    busy = True
                    time.sleep(0.0005)


def state(pid):
    try:
        with open('/proc/%d/stat' % pid) as file:
            return file.read().rpartition(')')[2].split()[0]
    except OSError:
        return 'X'


def send(pid, what=signal.SIGKILL):
    try:
        os.kill(pid, what)
        return True
    except ProcessLookupError:
        return False


# ---- what it costs --------------------------------------------------------------

def cost(pid):
    """(KiB of memory that is no file's, descriptors)"""
    with open('/proc/%d/smaps_rollup' % pid) as file:
        own = sum(int(line.split()[1]) for line in file if line.startswith('Anonymous:'))
    return own, len(os.listdir('/proc/%d/fd' % pid))


def last_update(path):
    """Of an archive: librrd's rrd_format.h, the live head behind the static one,
    the data sources and the row sizes.  0 when there is none."""
    try:
        with open(path, 'rb') as file:
            head = file.read(1 << 16)
    except OSError:
        return 0
    # cookie[4] version[5] float_cookie ds_cnt rra_cnt pdp_step par[10]
    ds, rra = struct.unpack_from('=QQ', head, 24)
    at = 128 + 120 * ds + 120 * rra
    return struct.unpack_from('=q', head, at)[0]
