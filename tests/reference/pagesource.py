# SPDX-License-Identifier: GPL-3.0-or-later
"""A page's source, without a browser: is it whole, safe, and fit for everybody?

    pagesource.py FILE [--never TEXT]... [--says TEXT]...

Every fault in one run, a sentence each; exit 1 when there are any.  Checked:
tags that nest and close; doctype, charset, language, title, viewport; ids used
once, and every reference to one; nothing that leads outside; headings without
a jump; tables with heads; names of pictures, graphs, links and controls; no
number that is none.  --never: these bytes are nowhere in the file; --says: its
text, read as a browser reads it, has this in it.
"""

import argparse
import html.parser
import re
import sys

VOID = {'area', 'base', 'br', 'col', 'embed', 'hr', 'img', 'input', 'link', 'meta', 'source',
        'track', 'wbr'}
# HTML lets these end by themselves; before a start tag, and before an end tag.
# https://html.spec.whatwg.org/#optional-tags (from memory)
OPTIONAL = {'p', 'li', 'dt', 'dd', 'tr', 'td', 'th', 'thead', 'tbody', 'tfoot', 'option',
            'colgroup', 'caption', 'html', 'head', 'body'}
ENDED_BY = {'li': {'li'}, 'dt': {'dt', 'dd'}, 'dd': {'dt', 'dd'}, 'td': {'td', 'th'},
            'th': {'td', 'th'}, 'tr': {'td', 'th', 'tr'}, 'option': {'option'},
            'tbody': {'td', 'th', 'tr', 'thead', 'tbody'}, 'body': {'head'}}
BLOCKS = {'address', 'article', 'aside', 'blockquote', 'details', 'div', 'dl', 'fieldset',
          'figure', 'footer', 'form', 'h1', 'h2', 'h3', 'h4', 'h5', 'h6', 'header', 'hr', 'main',
          'nav', 'ol', 'p', 'pre', 'section', 'table', 'ul'}
ADDRESSES = {'action', 'background', 'cite', 'data', 'formaction', 'href', 'manifest', 'ping',
             'poster', 'src', 'srcset', 'xlink:href'}
REFERENCES = ('aria-labelledby', 'aria-describedby', 'aria-controls', 'aria-details', 'for',
              'headers', 'list')
# What a script would need to go outside.
REACHES = re.compile(r'\b(fetch|XMLHttpRequest|WebSocket|EventSource|sendBeacon|importScripts'
                     r'|Worker|RTCPeerConnection)\b|\bimport\s*[({"\']')
SHAPES = {'cx', 'cy', 'd', 'height', 'offset', 'points', 'r', 'rx', 'ry', 'transform', 'viewbox',
          'width', 'x', 'x1', 'x2', 'y', 'y1', 'y2'}
NO_NUMBER = re.compile(r'(?<![\w.])(-?nan|NaN|[+-]?inf|[Ii]nfinity|undefined|null|\(null\))(?!\w)')


class Source(html.parser.HTMLParser):
    def __init__(self, text):
        super().__init__(convert_charrefs=True)
        self.faults = []
        self.open = []          # (tag, line, named), innermost last
        self.ids = {}
        self.wanted = []        # (id, what wants it, line)
        self.headings = []
        self.tables = []        # how many heads each open one has
        self.seen = set()
        self.title = ''
        self.words = []         # all text that is read, attributes' too
        self.nameless = []      # links and buttons that have no name yet
        self.feed(text)
        self.close()
        self.finish()

    def fault(self, sentence, line=None):
        self.faults.append('line %d: %s' % (line or self.getpos()[0], sentence))

    # ---- nesting ----------------------------------------------------------------
    def handle_starttag(self, tag, given):
        self.begin(tag, given)
        if tag not in VOID:
            self.open.append((tag, self.getpos()[0]))

    def handle_startendtag(self, tag, given):
        inside = any(t == 'svg' for t, _ in self.open) or tag == 'svg'
        if not inside and tag not in VOID:
            self.fault('<%s/> does not close itself in HTML' % tag)
        self.begin(tag, given)
        if self.nameless and self.nameless[-1][0] == tag and tag not in VOID:
            self.unnamed(self.nameless.pop())

    def begin(self, tag, given):
        while self.open and self.open[-1][0] in ENDED_BY.get(tag, ()):
            self.open.pop()
        if tag in BLOCKS and self.open and self.open[-1][0] == 'p':
            self.open.pop()
        self.seen.add(tag)
        names = [name for name, _ in given]
        for name in {n for n in names if names.count(n) > 1}:
            self.fault('<%s> has %s twice' % (tag, name))
        self.element(tag, {name: value or '' for name, value in given})

    def handle_endtag(self, tag):
        if tag in VOID:
            self.fault('</%s> closes nothing' % tag)
            return
        depth = next((i for i in reversed(range(len(self.open))) if self.open[i][0] == tag), None)
        if depth is None:
            self.fault('</%s> closes nothing' % tag)
            return
        for left, line in self.open[depth + 1:]:
            if left not in OPTIONAL:
                self.fault('<%s> of line %d is not closed before </%s>' % (left, line, tag))
        del self.open[depth:]
        if tag == 'table' and self.tables and not self.tables.pop():
            self.fault('a table has no <th scope>')
        if self.nameless and self.nameless[-1][0] == tag:
            self.unnamed(self.nameless.pop())

    # ---- elements ---------------------------------------------------------------
    def element(self, tag, given):
        for name, value in given.items():
            self.attribute(tag, name, value)
        if tag == 'html' and not given.get('lang'):
            self.fault('<html> says no lang')
        if tag == 'meta':
            self.seen.update(n for n in ('charset',) if n in given)
            self.seen.add('meta ' + given.get('name', given.get('http-equiv', '')).lower())
        if re.fullmatch('h[1-6]', tag):
            self.heading(int(tag[1]))
        if tag == 'table':
            self.tables.append(0)
        if tag == 'th':
            if self.tables and given.get('scope') in ('row', 'col', 'rowgroup', 'colgroup'):
                self.tables[-1] += 1
            else:
                self.fault('<th> has no scope')
        if tag == 'input' and given.get('type') != 'hidden':
            self.control(given)
        if tag in ('a', 'button', 'svg', 'img'):
            self.named(tag, given)

    def attribute(self, tag, name, value):
        line = self.getpos()[0]
        if name == 'id':
            if value in self.ids:
                self.fault('id "%s" is that of line %d too' % (value, self.ids[value]))
            if not value or re.search(r'\s', value):
                self.fault('id "%s" is empty or has a blank in it' % value)
            self.ids.setdefault(value, line)
        if name in ADDRESSES and not value.startswith('data:'):
            if value.startswith('#') and len(value) > 1:
                self.wanted.append((value[1:], '%s="%s"' % (name, value), line))
            else:
                self.fault('<%s %s="%s"> leads outside' % (tag, name, value[:80]))
        if name in REFERENCES:
            self.wanted += [(one, '%s="%s"' % (name, value), line) for one in value.split()]
        if name == 'style' or 'url(' in value:
            self.style(value)
        found = re.search('nan|inf', value) if name in SHAPES else NO_NUMBER.search(value)
        if found and name not in ('class', 'id', 'style'):
            self.fault('<%s %s> says "%s"' % (tag, name, found.group()))
        if name in ('aria-label', 'title', 'alt', 'content', 'value', 'aria-valuetext'):
            self.words.append(value)

    def style(self, text):
        for address in re.findall(r'url\(\s*["\']?([^"\')]*)', text):
            if address.startswith('#'):
                self.wanted.append((address[1:], 'url(%s)' % address, self.getpos()[0]))
            elif not address.startswith('data:'):
                self.fault('url(%s) leads outside' % address[:80])
        if '@import' in text:
            self.fault('@import leads outside')

    def heading(self, level):
        if level > (self.headings[-1] if self.headings else 0) + 1:
            self.fault('<h%d> skips a level' % level)
        self.headings.append(level)

    def control(self, given):
        if not (given.get('aria-label') or given.get('aria-labelledby') or given.get('title')
                or given.get('id') or any(t == 'label' for t, _ in self.open)):
            self.fault('<input type="%s"> has no name' % given.get('type', 'text'))

    def named(self, tag, given):
        """A name of its own, or one to be found inside before it closes."""
        own = any(given.get(n, '').strip() for n in ('aria-label', 'aria-labelledby', 'alt'))
        hidden = given.get('aria-hidden') == 'true'
        if tag == 'img':
            if 'alt' not in given and not own and not hidden:
                self.fault('<img> has no alt')
            return
        if tag == 'svg' and not hidden and given.get('role') != 'img':
            self.fault('<svg> is neither aria-hidden nor role="img"')
        elif own and tag == 'svg' and self.nameless:
            self.nameless[-1][2] = True
        self.nameless.append([tag, self.getpos()[0], own or (hidden and tag == 'svg')])

    def unnamed(self, one):
        tag, line, named = one
        if not named:
            self.fault('<%s> has no name (text, aria-label%s)'
                       % (tag, ', <title> or aria-hidden' if tag == 'svg' else ''), line)

    # ---- text -------------------------------------------------------------------
    def handle_data(self, data):
        inside = self.open[-1][0] if self.open else ''
        if inside == 'style':
            self.style(data)
        elif inside == 'script':
            found = REACHES.search(data)
            if found:
                self.fault('a script reaches outside by %s' % found.group())
            # The names of XML's languages are no addresses.
            for address in re.findall(r'[a-z]+://[^\s"\'<]*', data):
                if not address.startswith('http://www.w3.org/'):
                    self.fault('a script knows the address %s' % address[:80])
        else:
            self.text(data, inside)

    def text(self, data, inside):
        self.words.append(data)
        if inside == 'title' and not any(t == 'svg' for t, _ in self.open):
            self.title += data
        found = NO_NUMBER.search(data)
        if found:
            self.fault('its text says "%s"' % found.group())
        if '\ufffd' in data:
            self.fault('its text has a character that is none')
        if data.strip() and self.nameless:
            # Text names a link or button; a graph by its <title> alone.
            if self.nameless[-1][0] != 'svg' or inside == 'title':
                self.nameless[-1][2] = True

    def handle_decl(self, decl):
        if decl.lower() == 'doctype html':
            self.seen.add('!doctype')

    def unknown_decl(self, data):
        self.fault('<![%s is no HTML' % data[:20])

    # ---- the whole --------------------------------------------------------------
    def finish(self):
        for tag, line in self.open:
            if tag not in OPTIONAL:
                self.fault('<%s> is not closed' % tag, line)
        for name, what, line in self.wanted:
            if name not in self.ids:
                self.fault('%s leads nowhere' % what, line)
        for tag, what in (('!doctype', '<!DOCTYPE html>'), ('html', '<html lang>'),
                          ('charset', '<meta charset>'), ('main', '<main>'),
                          ('meta viewport', '<meta name="viewport">')):
            if tag not in self.seen:
                self.fault('%s is missing' % what)
        for tag in {'base', 'iframe', 'object', 'embed', 'frame'} & self.seen:
            self.fault('<%s> has no place in a page of one file' % tag)
        if 'meta refresh' in self.seen:
            self.fault('<meta http-equiv="refresh"> leads away')
        if not self.title.strip():
            self.fault('<title> is missing or empty')
        if self.headings.count(1) != 1:
            self.fault('%d <h1>; one is right' % self.headings.count(1))


def check(path, never=(), says=()):
    """(faults, the source as it was read)"""
    with open(path, 'rb') as file:
        data = file.read()
    try:
        text = data.decode('utf-8')
    except UnicodeDecodeError as error:
        return ['it is no UTF-8: %s' % error], None
    source = Source(text)
    faults = source.faults
    for match in re.finditer('[\x00-\x08\x0b\x0c\x0e-\x1f\x7f]', text):
        faults.append('line %d: byte %d has no place in a page'
                      % (text.count('\n', 0, match.start()) + 1, ord(match.group())))
    for raw in never:
        if raw.encode() in data:
            faults.append('"%s" stands in it unescaped' % raw)
    read = ' '.join(' '.join(source.words).split())
    for wanted in says:
        if ' '.join(wanted.split()) not in read:
            faults.append('"%s" is not said anywhere' % wanted)
    return faults, source


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument('file')
    parser.add_argument('--never', action='append', default=[])
    parser.add_argument('--says', action='append', default=[])
    given = parser.parse_args()
    faults, _ = check(given.file, given.never, given.says)
    for fault in faults:
        print('%s: %s' % (given.file, fault))
    return 1 if faults else 0


if __name__ == '__main__':
    sys.exit(main())
