# SPDX-License-Identifier: GPL-3.0-or-later
"""A receiver of webhooks (partner_hook) that is away at times."""

import os
import subprocess
import sys
import time

PATIENCE = 60           # s


class Receiver:
    def __init__(self, program, work):
        self.program, self.work, self.process = program, work, None
        self.port = None
        open(self.log(), 'w').close()
        self.be(True)

    def log(self):
        return self.work + '/hook.jsonl'

    def be(self, there):
        """There, at the same address each time, or away."""
        if there and not self.process:
            self.begin()
        elif self.process and not there:
            self.process.kill()
            self.process.wait()
            self.process = None

    def begin(self):
        name = self.work + '/hook.port'
        if os.path.exists(name):
            os.unlink(name)
        self.process = subprocess.Popen(
            [self.program, '--log', self.log(), '--port-file', name] +
            (['--port', self.port] if self.port else []))
        until = time.monotonic() + PATIENCE
        while not (os.path.exists(name) and os.path.getsize(name)):
            time.sleep(0.01)
            if time.monotonic() > until or self.process.poll() is not None:
                sys.exit('the receiver does not listen')
        with open(name) as file:
            self.port = file.read().strip()
