#!/usr/bin/env python3
# SPDX-License-Identifier: GPL-3.0-or-later
"""Modbus probes on a pseudo-terminal, wired up as somebody does it who never has.

    strangerbus.py LINK BAUD ADDRESS... [--twice ADDRESS] [--swapped] [--warm FILE ADDRESS]

Each ADDRESS answers input registers from 1 on, in tenths.  At another speed
than BAUD whatever is asked is answered by noise.  --twice: two probes have that
address, and their answers lie upon each other on the wire (the dominant level
is a 0 bit: common practice, no source).  --swapped: nobody understands, and the
line idles at the wrong level: a NUL now and then.  --warm: that probe rises by
1.0 at each asking while FILE is there.  The frames and their CRC are those of
MODBUS over Serial Line V1.02, sections 2.5.1 and 6.2.2.
"""
import argparse
import os
import pty
import struct
import termios
import tty

SPEEDS = {9600: termios.B9600, 19200: termios.B19200}


def crc(frame):
    value = 0xFFFF
    for byte in frame:
        value ^= byte
        for _ in range(8):
            value = value >> 1 ^ (0xA001 if value & 1 else 0)
    return struct.pack("<H", value)


def answer(address, first, count, tenths):
    body = bytes([address, 4, 2 * count])
    for register in range(first, first + count):
        body += struct.pack(">h", tenths if register == 1 else 480)
    return body + crc(body)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("link")
    parser.add_argument("baud", type=int)
    parser.add_argument("addresses", type=int, nargs="*")
    parser.add_argument("--twice", type=int)
    parser.add_argument("--swapped", action="store_true")
    parser.add_argument("--warm", nargs=2)
    options = parser.parse_args()
    near, far = pty.openpty()
    tty.setraw(far)
    os.symlink(os.ttyname(far), options.link)
    rise, pending = 0, b""
    while True:
        pending += os.read(near, 256)
        if len(pending) < 8:
            continue
        request, pending = pending[:8], pending[8:]
        if options.swapped:
            os.write(near, b"\0")
        elif termios.tcgetattr(far)[5] != SPEEDS[options.baud]:
            os.write(near, b"\xf8\x80\x00\xe0\xfe\x98\x1e\x80\xe6")
        elif request[6:] == crc(request[:6]):
            address, _, first, count = struct.unpack(">BBHH", request[:6])
            if options.warm and address == int(options.warm[1]) and os.path.exists(options.warm[0]):
                rise += 10
            tenths = 240 + address + (rise if options.warm and address == int(options.warm[1]) else 0)
            if address == options.twice:
                one, other = (answer(address, first, count, t) for t in (251, 263))
                os.write(near, bytes(a & b for a, b in zip(one, other)))
            elif address in options.addresses:
                os.write(near, answer(address, first, count, tenths))


main()
