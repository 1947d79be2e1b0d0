# SPDX-License-Identifier: GPL-3.0-or-later
"""What a service tells its manager: every datagram to SOCKET, a line each, on standard output.

    notified.py SOCKET

sd_notify(3) is the interface: a datagram socket of the file system, newline-separated
assignments."""

import socket
import sys

listener = socket.socket(socket.AF_UNIX, socket.SOCK_DGRAM)
listener.bind(sys.argv[1])
print("listening", flush=True)
while True:
    print(listener.recv(4096).decode().replace("\n", " "), flush=True)
