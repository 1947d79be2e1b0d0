#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""--read --watch on a terminal, as somebody sees it who warms a probe.

    watchterm.py ROWS COLUMNS COMMAND...

Until a probe rises; then Ctrl-C, or the key of WATCHTERM_KEY, hexadecimal.  The status must be 0, the terminal's settings
as before, its own screen left again (the private mode 1049 that terminals
share), no line longer than the screen is wide and no picture higher.
"""
import fcntl
import os
import pty
import re
import select
import struct
import sys
import termios
import time

ROWS, COLUMNS, PATIENCE = int(sys.argv[1]), int(sys.argv[2]), 15
ENTER, LEAVE, HOME = b"\x1b[?1049h", b"\x1b[?1049l", b"\x1b[H"
near, far = pty.openpty()
fcntl.ioctl(far, termios.TIOCSWINSZ, struct.pack("HHHH", ROWS, COLUMNS, 0, 0))
before = termios.tcgetattr(far)
child = os.fork()
if child == 0:
    os.close(near)
    os.login_tty(far) if hasattr(os, "login_tty") else None
    if not hasattr(os, "login_tty"):
        os.setsid()
        fcntl.ioctl(far, termios.TIOCSCTTY, 0)
        for fd in range(3):
            os.dup2(far, fd)
    os.environ["TERM"] = "xterm"
    os.execv(sys.argv[3], sys.argv[3:])

seen = b""
until = time.monotonic() + PATIENCE


def read_on(done):
    """Reads until that is seen; False when it never is."""
    global seen
    while not done():
        if time.monotonic() > until or not select.select([near], [], [], 1)[0] and time.monotonic() > until:
            return False
        if select.select([near], [], [], 0.1)[0]:
            seen += os.read(near, 65536)
    return True


assert read_on(lambda: re.search(rb"> p12 rises, \+[0-9.]+ \xc2\xb0C lately: nowhere", seen)), seen[-900:]
os.write(near, bytes.fromhex(os.environ.get("WATCHTERM_KEY", "03")))
assert read_on(lambda: LEAVE in seen), "its screen is not left"
assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0, "the status after the key"
while select.select([near], [], [], 0.1)[0]:
    seen += os.read(near, 65536)
assert termios.tcgetattr(far) == before, "the terminal is not as it was"
assert seen.count(ENTER) == seen.count(LEAVE) == 1 and seen.index(ENTER) < seen.index(LEAVE)
last = seen[seen.index(LEAVE) + len(LEAVE):].decode()
assert "p11" in last and "p12" in last, "the last picture does not stay"
plain = re.sub(r"\x1b\[[?0-9]*[A-Za-z]", "", seen.decode())
longest = max(plain.splitlines(), key=len)
assert len(longest) <= COLUMNS, "a line of %d: %s" % (len(longest), longest)
pictures = seen[:seen.index(LEAVE)].split(HOME)[1:]
assert len(pictures) >= 2, "it is not renewed"
assert max(p.count(b"\n") for p in pictures) < ROWS, "a picture higher than the screen"
if ROWS < 6:
    assert b"lines more" in pictures[-1], "what is left out is not said"
