# SPDX-License-Identifier: GPL-3.0-or-later
"""A headless Chromium that a test can look at a page with.

Started with --remote-debugging-pipe: DevTools protocol messages as JSON, each
ended by a NUL, to its descriptor 3 and from its descriptor 4.  Nothing but
Debian's chromium and the standard library is needed.  The methods are those of
https://chromedevtools.github.io/devtools-protocol/ (from memory, tried out).

    with Browser() as browser:
        page = browser.page()
        page.open('/tmp/a.html', 390, 844, phone=True)
        page.evaluate('document.title')

Every wait has a time-out.  The browser ends with the `with`, and by itself
when this process is gone, since its pipe is closed then.
"""

import base64
import fcntl
import json
import os
import pathlib
import select
import shutil
import signal
import subprocess
import sys
import tempfile
import time

PATIENCE = 20       # s for one answer

# Without a network, a desktop, or anything that looks for either.
FLAGS = ('--headless', '--remote-debugging-pipe', '--disable-gpu', '--no-first-run',
         '--disable-background-networking', '--disable-component-update', '--disable-sync',
         '--disable-quic', '--disable-default-apps', '--disable-domain-reliability',
         '--disable-extensions', '--disable-client-side-phishing-detection',
         '--disable-crash-reporter', '--disable-breakpad', '--disable-dev-shm-usage',
         '--disable-features=OptimizationHints,MediaRouter,Translate,DialMediaRouteProvider',
         '--host-resolver-rules=MAP * ~NOTFOUND', '--metrics-recording-only', '--mute-audio',
         '--no-default-browser-check', '--no-pings', '--no-service-autorun',
         '--password-store=basic', '--hide-scrollbars', '--force-color-profile=srgb')

# What a key sends: its code for the page, and its character if it has one.
KEYS = {'Tab': (9, ''), 'Enter': (13, '\r'), 'End': (35, ''), 'Home': (36, ''),
        'ArrowLeft': (37, ''), 'ArrowRight': (39, '')}


class Trouble(Exception):
    """The browser does not do what was asked; the sentence says what."""


def deadline(seconds):
    """Ends the program in good order after so long, or when it is told to."""
    def late(*_):
        raise Trouble('not done in %d s' % seconds)
    signal.signal(signal.SIGALRM, late)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    signal.alarm(seconds)


class Browser:
    def __init__(self, program='chromium'):
        self.home = tempfile.mkdtemp(prefix='warmside-browser.')
        self.process = None
        self.said = b''
        self.last = 0
        self.answers = {}
        self.pages = {}
        try:
            self._start(program)
            self.version = self.call('Browser.getVersion')['product']
        except BaseException:
            self.close()
            raise

    def __enter__(self):
        return self

    def __exit__(self, *_):
        self.close()

    def _start(self, program):
        theirs_in, self.to = os.pipe()
        self.of, theirs_out = os.pipe()
        # Out of the way of 3 and 4, which they become in the child.
        theirs_in, theirs_out = (self._away(fd) for fd in (theirs_in, theirs_out))

        def as_3_and_4():
            os.dup2(theirs_in, 3)
            os.dup2(theirs_out, 4)

        root = ['--no-sandbox'] if os.geteuid() == 0 else []
        quiet = {'HOME': self.home, 'TMPDIR': self.home, 'PATH': os.environ.get('PATH', ''),
                 'LANG': 'C.UTF-8', 'TZ': 'UTC'}
        self.errors = open(os.path.join(self.home, 'stderr'), 'wb')
        self.process = subprocess.Popen(
            [program, *FLAGS, *root, '--user-data-dir=' + os.path.join(self.home, 'profile')],
            stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL, stderr=self.errors, env=quiet,
            pass_fds=(3, 4), preexec_fn=as_3_and_4, start_new_session=True)
        os.close(theirs_in)
        os.close(theirs_out)

    @staticmethod
    def _away(fd):
        moved = fcntl.fcntl(fd, fcntl.F_DUPFD_CLOEXEC, 10)
        os.close(fd)
        return moved

    def close(self):
        """Ends it, asked or not; its folder is removed."""
        if self.process:
            try:
                self._send('Browser.close', {}, None)
                self.process.wait(5)
            except (OSError, subprocess.TimeoutExpired):
                pass
            try:
                os.killpg(self.process.pid, signal.SIGKILL)
            except ProcessLookupError:
                pass
            self.process.wait()
            os.close(self.to)
            os.close(self.of)
            self.errors.close()
            self.process = None
        shutil.rmtree(self.home, ignore_errors=True)

    def _send(self, method, params, session):
        self.last += 1
        message = {'id': self.last, 'method': method, 'params': params}
        if session:
            message['sessionId'] = session
        data = json.dumps(message).encode() + b'\0'
        while data:
            data = data[os.write(self.to, data):]
        return self.last

    def call(self, method, params=None, session=None, patience=PATIENCE):
        """The result of a method; Trouble when it fails or does not answer."""
        return self.result(self._send(method, params or {}, session), method, patience)

    def result(self, number, method, patience=PATIENCE):
        end = time.monotonic() + patience
        while number not in self.answers:
            if not self.listen(end):
                raise Trouble('%s: no answer in %d s' % (method, patience))
        answer = self.answers.pop(number)
        if 'error' in answer:
            raise Trouble('%s: %s' % (method, answer['error']['message']))
        return answer['result']

    def listen(self, end):
        """Takes in what it says; False when nothing came until `end`."""
        ready, _, _ = select.select([self.of], [], [], max(0, end - time.monotonic()))
        if not ready:
            return False
        some = os.read(self.of, 1 << 20)
        if not some:
            self.errors.flush()
            with open(self.errors.name, encoding='utf-8', errors='replace') as errors:
                raise Trouble('the browser has ended; its last words: ' + errors.read()[-600:])
        *whole, self.said = (self.said + some).split(b'\0') if b'\0' in some else \
            (self.said + some,)
        for text in whole:
            message = json.loads(text)
            if 'id' in message:
                self.answers[message['id']] = message
            elif message.get('sessionId') in self.pages:
                self.pages[message['sessionId']].heard(message['method'], message['params'])
        return True

    def page(self):
        return Page(self)


class Page:
    """One page in a context (cookies, cache, permissions) of its own."""

    def __init__(self, browser):
        self.browser = browser
        self.problems = []      # sentences: console errors, exceptions, dialogs, crashes
        self.requests = []      # addresses asked for, whether or not they were got
        self.loaded = False
        self.context = browser.call('Target.createBrowserContext')['browserContextId']
        target = browser.call('Target.createTarget', {'url': 'about:blank',
                                                      'browserContextId': self.context})
        self.session = browser.call('Target.attachToTarget', {'targetId': target['targetId'],
                                                              'flatten': True})['sessionId']
        browser.pages[self.session] = self
        for domain in ('Page', 'Runtime', 'Log', 'Network', 'Inspector'):
            self.call(domain + '.enable')
        self.call('Emulation.setFocusEmulationEnabled', enabled=True)

    def call(self, method, patience=PATIENCE, **params):
        return self.browser.call(method, params, self.session, patience)

    def inputs(self, kind, *events):
        """One after the other, without waiting in between."""
        method = 'Input.dispatch%sEvent' % kind
        sent = [self.browser._send(method, event, self.session) for event in events]
        for number in sent:
            self.browser.result(number, method)

    def close(self):
        del self.browser.pages[self.session]
        self.browser.call('Target.disposeBrowserContext', {'browserContextId': self.context})

    def heard(self, method, params):
        """An event; never waits, since it may come in the middle of a call."""
        if method == 'Page.loadEventFired':
            self.loaded = True
        elif method == 'Network.requestWillBeSent':
            self.requests.append(params['request']['url'])
        elif method == 'Runtime.exceptionThrown':
            details = params['exceptionDetails']
            thrown = details.get('exception', {}).get('description', '').split('\n')[0]
            self.problems.append('a script fails: %s (line %d)'
                                 % (thrown or details['text'], details['lineNumber'] + 1))
        elif method == 'Runtime.consoleAPICalled' and params['type'] in ('error', 'assert',
                                                                         'warning'):
            words = [str(a.get('value', a.get('description'))) for a in params['args']]
            self.problems.append('console %s: %s' % (params['type'], ' '.join(words)))
        elif method == 'Log.entryAdded' and params['entry']['level'] in ('error', 'warning'):
            self.problems.append('the browser objects: ' + params['entry']['text'])
        elif method == 'Page.javascriptDialogOpening':
            self.problems.append('a dialogue opens: ' + params['message'])
            self.browser._send('Page.handleJavaScriptDialog', {'accept': True}, self.session)
        elif method == 'Inspector.targetCrashed':
            self.problems.append('the page has crashed')

    # ---- what it looks like ---------------------------------------------------
    def open(self, path, width, height, phone=False, dark=False, scripts=True):
        self.size(width, height, phone)
        self.media(dark=dark)
        self.call('Emulation.setScriptExecutionDisabled', value=not scripts)
        self.load(path)

    def load(self, path):
        self.loaded = False
        answer = self.call('Page.navigate', url=pathlib.Path(path).resolve().as_uri())
        if 'errorText' in answer:
            raise Trouble('%s cannot be opened: %s' % (path, answer['errorText']))
        end = time.monotonic() + PATIENCE
        while not self.loaded:
            if not self.browser.listen(end):
                raise Trouble('%s is not loaded in %d s' % (path, PATIENCE))

    def size(self, width, height, phone=False):
        self.call('Emulation.setDeviceMetricsOverride', width=width, height=height,
                  deviceScaleFactor=1, mobile=phone)
        self.call('Emulation.setTouchEmulationEnabled', enabled=phone, maxTouchPoints=1)

    def media(self, dark=False, kind='screen'):
        scheme = 'dark' if dark else 'light'
        self.call('Emulation.setEmulatedMedia', media=kind, features=[
            {'name': 'prefers-color-scheme', 'value': scheme},
            {'name': 'prefers-reduced-motion', 'value': 'reduce'}])

    def elsewhere(self, zone, locale):
        """As if read in another time zone and language."""
        self.call('Emulation.setTimezoneOverride', timezoneId=zone)
        self.call('Emulation.setLocaleOverride', locale=locale)

    # ---- what is done to it -----------------------------------------------------
    def evaluate(self, expression, patience=PATIENCE):
        """The value of an expression, as JSON; a promise is waited for."""
        answer = self.call('Runtime.evaluate', patience, expression=expression,
                           returnByValue=True, awaitPromise=True)
        if 'exceptionDetails' in answer:
            details = answer['exceptionDetails']
            raise Trouble('the test\'s own script fails: %s'
                          % details.get('exception', {}).get('description', details['text']))
        return answer['result'].get('value')

    def until(self, expression, patience=1.0):
        """The first true value of an expression; else its last after `patience` s."""
        end = time.monotonic() + patience
        while True:
            value = self.evaluate(expression)
            if value or time.monotonic() > end:
                return value
            time.sleep(0.01)

    def press(self, key):
        code, text = KEYS[key]
        what = {'key': key, 'code': key, 'windowsVirtualKeyCode': code}
        down = {'type': 'keyDown', 'text': text} if text else {'type': 'rawKeyDown'}
        self.inputs('Key', {**what, **down}, {**what, 'type': 'keyUp'})

    def move(self, *points):
        self.inputs('Mouse', *({'type': 'mouseMoved', 'x': x, 'y': y} for x, y in points))

    def tap(self, x, y):
        self.inputs('Touch', {'type': 'touchStart', 'touchPoints': [{'x': x, 'y': y}]},
                    {'type': 'touchEnd', 'touchPoints': []})

    # ---- what comes out of it ---------------------------------------------------
    def shots(self, path, piece=2400):
        """The whole page as PATH-1.png, PATH-2.png, ..., from its top down."""
        whole = self.call('Page.getLayoutMetrics')['cssContentSize']
        number = 0
        while number * piece < whole['height']:
            part = {'x': 0, 'y': number * piece, 'width': whole['width'], 'scale': 1,
                    'height': min(piece, whole['height'] - number * piece)}
            number += 1
            shot = self.call('Page.captureScreenshot', format='png', clip=part,
                             captureBeyondViewport=True)
            with open('%s-%d.png' % (path, number), 'wb') as out:
                out.write(base64.b64decode(shot['data']))

    def pdf(self):
        """Printed on A4 with the page's own margins, or 1 cm."""
        made = self.call('Page.printToPDF', paperWidth=8.27, paperHeight=11.69, marginTop=0.4,
                         marginBottom=0.4, marginLeft=0.4, marginRight=0.4,
                         preferCSSPageSize=True)
        return base64.b64decode(made['data'])
