# SPDX-License-Identifier: GPL-3.0-or-later
"""Looks at a page of `warmside morning` in a real browser, as its readers do.

    page.py FILE [--enclosures N] [--shots DIR] [--axe FILE] [--never TEXT]... [--says TEXT]...

On a phone (390x844) and a desk (1440x900), light and dark, with the keyboard,
the mouse and a finger, without scripts, in another time zone and language,
and on paper.  What is checked stands beside each function; the source alone
is looked at by pagesource.py.  Every fault in one run, a sentence each; exit
1 when there are any.
--shots: the whole page as pictures, and as PDF.  --axe: the script of
axe-core; its findings of impact serious and critical are faults.
"""

import argparse
import collections
import json
import os
import pathlib
import re
import sys
import time

import browser
import pagesource

SCREENS = (('phone', 390, 844, True), ('desk', 1440, 900, False))
SCHEMES = (('light', False), ('dark', True))
PAPER = 718         # px: A4 less 1 cm on either side, at 96 px an inch
LIMIT = 300         # s for all of it

HERE = os.path.dirname(os.path.abspath(__file__))
with open(os.path.join(HERE, 'pagelook.js'), encoding='utf-8') as script:
    LOOK = 'globalThis.look = %s;' % script.read()
with open(os.path.join(HERE, 'pagecontrast.js'), encoding='utf-8') as script:
    LOOK += script.read()


# What is folded away is looked at as well.
UNFOLD = "void document.querySelectorAll('details').forEach(one => { one.open = true; })"


class Looking:
    """One look at one page; its faults gather here."""

    def __init__(self, chromium, path, enclosures=0, shots=None, axe=None, patience=5.0):
        self.browser = chromium
        self.path = path
        self.enclosures = enclosures
        self.shots = shots
        self.axe = axe
        self.faults = []
        self.notes = []
        self.patience = patience        # s for what the page does by itself

    def until(self, page, expression):
        """Waits for it to be so; less, once that was in vain."""
        if page.until(expression, self.patience):
            return True
        self.patience = 0.05
        return False

    def fault(self, where, sentence):
        # What is wrong in every light is said once.
        if not any(old.endswith(': ' + sentence) for old in self.faults):
            self.faults.append('%s: %s' % (where, sentence))

    def all_of_it(self):
        for name, width, height, phone in SCREENS:
            page = self.open(width, height, phone)
            for scheme, dark in SCHEMES:
                self.seen(page, '%s, %s' % (name, scheme), width, dark)
            self.readings(page, name, phone)
            if not phone:
                self.printed(page)
                self.elsewhere(page)
            self.quiet(page, name)
            page.close()
        self.without_scripts()

    def open(self, width, height, phone=False, scripts=True):
        page = self.browser.page()
        page.open(self.path, width, height, phone=phone, scripts=scripts)
        page.evaluate(LOOK)
        return page

    def seen(self, page, where, width, dark):
        """Nothing sticks out, all can be read, the keyboard gets everywhere."""
        page.media(dark=dark)
        for fault in page.evaluate('look.overflow(%d)' % width):
            self.fault(where, fault)
        contrast = page.evaluate('look.contrast()', 60)
        self.notes.append('%s: %d texts, the least contrast %.2f:1'
                          % (where, contrast['count'], contrast['least']))
        for fault in contrast['faults']:
            self.fault(where, fault)
        # Where Tab leads is the same by day and night, a ring may not be.
        if dark != (width < 1000):
            self.keyboard(page, where)
        if self.shots:
            page.evaluate('document.activeElement.blur(), scrollTo({top: 0, behavior: "instant"})')
            page.shots(os.path.join(self.shots, where.replace(', ', '-')))
        if self.axe:
            self.accessible(page, where)

    # ---- the keyboard ---------------------------------------------------------
    def keyboard(self, page, where):
        """Tab from the top reaches every link within the page; whatever has
        the focus shows it; Enter brings what a link leads to into view.  On the
        phone when it is light, on the desk when it is dark."""
        links = page.evaluate('look.links()')
        reached = self.walk(page, where)
        targets = {}
        for i, link in enumerate(links):
            targets.setdefault(link['to'], i)
            if i not in reached:
                self.fault(where, 'Tab never reaches the link %s to #%s'
                           % (link['name'], link['to']))
        for name in page.evaluate('look.unlinked()'):
            self.fault(where, 'no link leads to the section #%s' % name)
        if self.enclosures and len(targets) < self.enclosures:
            self.fault(where, 'links lead to %d sections; %d enclosures are expected'
                       % (len(targets), self.enclosures))
        for to, i in targets.items():
            page.evaluate('scrollTo({top: 0, behavior: "instant"}), look.focus_link(%d)' % i)
            page.press('Enter')
            if not self.until(page, 'look.arrived(%d)' % i):
                self.fault(where, 'Enter on the link to #%s does not bring it into view' % to)

    def walk(self, page, where):
        """The links reached by pressing Tab from the top until it begins again."""
        reached, stops = set(), set()
        for _ in range(page.evaluate('look.stops()') + 20):
            page.press('Tab')
            now = page.evaluate('look.focused()')
            if not now or (now['stop'] >= 0 and now['stop'] in stops):
                break
            stops.add(now['stop'])
            reached.add(now['link'])
            if not now['ring']:
                self.fault(where, 'nothing shows that %s has the focus' % now['name'])
            if not now['seen']:
                self.fault(where, '%s has the focus where nobody sees it' % now['name'])
        return reached

    # ---- readings ---------------------------------------------------------------
    def readings(self, page, where, phone):
        """Mouse (or finger) over a graph tells a reading, and the range beside
        it, moved by the keyboard, the same.  Every sixth graph: others on the
        phone than on the desk."""
        page.evaluate(UNFOLD)
        hooks = page.evaluate('look.hooks()')
        if not hooks:
            self.fault(where, 'no graph tells a reading: nothing has data-reading')
        wrong = []
        for i, hook in enumerate(hooks):
            if not hook['whole']:
                wrong.append('%s has data-reading, but no graph and range beside it'
                             % hook['name'])
            elif i % 6 == (3 if phone else 0):
                wrong += self.reading(page, i, hook['name'], phone)
        for sentence in wrong[:3]:
            self.fault(where, sentence)
        if wrong[3:]:
            self.fault(where, '%d more graphs are as wrong' % len(wrong[3:]))

    def reading(self, page, i, name, phone):
        """What is wrong with one graph: at most one sentence."""
        before = page.evaluate('look.reading(%d)' % i)
        at = page.evaluate('look.show(%d)' % i)
        # Elsewhere on each: one that changes all the others changes too.
        x, y = at['left'] + (0.2 + i % 7 * 0.09) * at['width'], at['top'] + 0.5 * at['height']
        if phone:
            page.tap(x, y)
        else:
            page.move((x - 9, y), (x, y))
        how = '%s the graph %s' % ('a finger on' if phone else 'the mouse over', name)
        if not self.until(page, '!["", %s].includes(look.reading(%d))' % (json.dumps(before), i)):
            return ['%s changes nothing' % how]
        told = page.evaluate('look.reading(%d)' % i)
        if not re.search(r'\d', told):
            return ['%s tells no number: "%s"' % (how, told)]
        position = page.evaluate('look.position(%d, %s)' % (i, json.dumps(told)))
        if position < 0:
            return ['%s tells "%s", its range never does' % (how, told)]
        page.press(page.evaluate('look.beside(%d, %d)' % (i, position)))
        if not self.until(page, 'look.reading(%d) === %s' % (i, json.dumps(told))):
            return ['the keyboard on the range of the graph %s does not lead to "%s"'
                    % (name, told)]
        return []

    def elsewhere(self, page):
        """What the script tells depends on no browser's time zone or language."""
        page.evaluate(UNFOLD)
        here = page.evaluate('look.samples(9)')
        page.elsewhere('Pacific/Chatham', 'ar-EG')
        page.load(self.path)
        page.evaluate(LOOK)
        page.evaluate(UNFOLD)
        page.evaluate('void look.hooks()')
        there = page.evaluate('look.samples(9)')
        for one, other in zip(here, there):
            if one != other:
                self.fault('elsewhere', 'the same reading is "%s" here and "%s" in another time'
                           ' zone and language' % (one, other))
                break

    # ---- other ways to have it ----------------------------------------------------
    def printed(self, page):
        """On A4 nothing is cut off to the right."""
        page.media(kind='print')
        page.size(PAPER, 1000)
        for fault in page.evaluate('look.overflow(0)'):
            self.fault('on paper', fault)
        page.media()
        pdf = page.pdf()
        count = len(re.findall(rb'/Type\s*/Page\b', pdf))
        self.notes.append('on paper: %d pages of A4' % count)
        if not count:
            self.fault('on paper', 'it prints no page')
        if self.shots:
            with open(os.path.join(self.shots, 'paper.pdf'), 'wb') as out:
                out.write(pdf)
        page.size(*SCREENS[1][1:])

    def without_scripts(self):
        """All its words are there where scripts may not run."""
        page = self.open(*SCREENS[1][1:])
        wanted = page.evaluate('look.words()')
        page.close()
        page = self.open(*SCREENS[1][1:], scripts=False)
        found = page.evaluate('look.words()')
        page.close()
        gone = list((collections.Counter(wanted) - collections.Counter(found)).elements())
        if gone:
            self.fault('without scripts', '%d of its words are gone: %s'
                       % (len(gone), ' '.join(gone[:12])))

    def quiet(self, page, where):
        """Nothing was complained of, and nothing but the file asked for."""
        page.evaluate('new Promise(done => requestAnimationFrame(() => setTimeout(done, 20)))')
        for problem in page.problems:
            self.fault(where, problem)
        own = pathlib.Path(self.path).resolve().as_uri()
        for request in page.requests:
            if request.split('#')[0] != own and not request.startswith('data:'):
                self.fault(where, 'it asks for ' + request[:100])

    def accessible(self, page, where):
        """axe-core, https://github.com/dequelabs/axe-core"""
        page.evaluate('void function() { %s }.call(window)' % self.axe, 60)
        passed, found = page.evaluate(
            'axe.run(document, {resultTypes: ["violations"]}).then(r => [r.passes.length, '
            'r.violations.map(v => [v.impact, v.id, v.help, v.nodes.length, '
            'v.nodes[0].html.slice(0, 160)])])', 120)
        self.notes.append('%s: axe-core is content by %d rules' % (where, passed))
        if not passed:
            self.fault(where, 'axe-core has looked at nothing')
        for impact, rule, sentence, count, example in found:
            text = 'axe-core, %s: %s (%s), %d times, as in %s' % (impact, sentence, rule, count,
                                                                  example)
            if impact in ('serious', 'critical'):
                self.fault(where, text)
            else:
                self.notes.append('%s: %s' % (where, text))


def look(chromium, path, never=(), says=(), **how):
    """(faults, notes) of one page."""
    faults, source = pagesource.check(path, never, says)
    if source is None:
        return faults, []
    looking = Looking(chromium, path, **how)
    looking.all_of_it()
    return ['source: ' + fault for fault in faults] + looking.faults, looking.notes


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('file')
    parser.add_argument('--enclosures', type=int, default=0)
    parser.add_argument('--shots')
    parser.add_argument('--axe')
    parser.add_argument('--never', action='append', default=[])
    parser.add_argument('--says', action='append', default=[])
    given = parser.parse_args()
    began = time.monotonic()
    browser.deadline(LIMIT)
    axe = None
    if given.axe:
        with open(given.axe, encoding='utf-8') as file:
            axe = file.read()
    if given.shots:
        os.makedirs(given.shots, exist_ok=True)
    with browser.Browser() as chromium:
        faults, notes = look(chromium, given.file, given.never, given.says,
                             enclosures=given.enclosures, shots=given.shots, axe=axe)
    for line in notes:
        print('note: ' + line)
    for line in faults:
        print('FAULT: ' + line)
    print('%s: %d faults, %.1f s' % (given.file, len(faults), time.monotonic() - began))
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main())
