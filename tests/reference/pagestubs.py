# SPDX-License-Identifier: GPL-3.0-or-later
"""Can page.py fail?  Small pages with one thing wrong each, and one with nothing.

    pagestubs.py DIR              makes them there and looks at all in one browser
    pagestubs.py --make FILE [N]  writes the faultless one of N enclosures

For each broken page the fault expected must be named; for the whole one, none.
"""

import math
import os
import re
import sys
import time

import browser
import page

POINTS = 288        # a day of 5 minutes

HEAD = '''<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'">
<title>A stub</title>
<style>
:root { color-scheme: light dark; --ink: #222; --paper: #fbfaf7; --soft: #e4dfd2; --line: #667; }
@media (prefers-color-scheme: dark) {
	:root { --ink: #eee; --paper: #191817; --soft: #3a352c; --line: #99a; }
}
body { margin: 0 auto; max-width: 60rem; padding: 0 1rem; font: 16px sans-serif;
	color: var(--ink); background: var(--paper); }
a { color: inherit; display: block; }
:focus-visible { outline: 3px solid var(--ink); outline-offset: 2px; }
svg { width: 100%; height: 120px; display: block; }
svg text { fill: var(--ink); font-size: 12px; }
.night { fill: var(--soft); }
.reading { fill: none; stroke: var(--line); }
.wide { overflow-x: auto; }
@media print { input { display: none; } }
</style>
</head>
<body>
<main>
<h1>Two of twelve need you.</h1>
<nav aria-label="Enclosures">
'''

SECTION = '''<section id="e%(n)d">
<h2>Enclosure %(n)d</h2>
<p>Too dry for 3 h.</p>
<div class="wide" tabindex="0" role="region" aria-label="Figures of %(n)d"><table>
<caption>Figures</caption>
<thead><tr><th scope="col">what</th><th scope="col">below</th></tr></thead>
<tbody><tr><th scope="row">humidity</th><td>3:10</td></tr></tbody>
</table></div>
<div class="graph">
<svg role="img" aria-label="Humidity fell at night" preserveAspectRatio="none">
<rect class="night" x="30%%" y="0" width="40%%" height="120"/>
<text x="32%%" y="16">night</text>
<path class="reading" d="%(path)s"/>
</svg>
<label>Reading at <input type="range" min="0" max="%(last)d" value="0"></label>
<output data-reading>Point at the graph.</output>
</div>
</section>
'''

SCRIPT = '''<script>
document.querySelectorAll('.graph').forEach(graph => {
	const svg = graph.querySelector('svg'), range = graph.querySelector('input');
	const output = graph.querySelector('output'), last = Number(range.max);
	const show = i => {
		range.value = i;
		output.textContent = Math.floor(i / 12) + ' h ' + i % 12 * 5 + ' min: ' + (50 + i % 7) + ' %';
	};
	const point = event => {
		const box = svg.getBoundingClientRect();
		show(Math.round((event.clientX - box.left) / box.width * last));
	};
	svg.addEventListener('pointermove', point);
	svg.addEventListener('pointerdown', point);
	range.addEventListener('input', () => show(Number(range.value)));
});
</script>
'''


def whole(enclosures):
    """A page with no fault."""
    curve = 'M' + ' '.join('%d,%.1f' % (i, 60 + 40 * math.sin(i / 30)) for i in range(POINTS))
    strips = ''.join('<a href="#e%d">Enclosure %d <svg aria-hidden="true"><path class="reading"'
                     ' d="M0,10 H300"/></svg></a>\n' % (n, n) for n in range(enclosures))
    sections = ''.join(SECTION % {'n': n, 'path': curve, 'last': POINTS - 1}
                       for n in range(enclosures))
    return HEAD + strips + '</nav>\n' + sections + '</main>\n' + SCRIPT + '</body>\n</html>\n'


# name: what is replaced (its first occurrence), by what, and the fault expected.
BROKEN = {
    'wide': ('<p>Too dry', '<p style="width: 500px">Too dry',
             r'phone, light: <p> "Too dry for 3 h." in #e0 sticks out of the 390 px'),
    'sideways': ('class="wide"', '', r'scrolls sideways'),
    'no viewport': ('<meta name="viewport" content="width=device-width, initial-scale=1">', '',
                    r'laid out 980 px wide on a screen of 390'),
    'cut': ('<p>Too dry', '<p style="width: 2em; overflow: hidden; white-space: nowrap">Too dry',
            r'the content of <p> "Too dry for 3 h." in #e0 is cut off'),
    'cut text': ('<text x="32%" y="16"', '<text x="99%" y="16"',
                 r'<text> "night" in #e0 is cut off by the edge of its graph'),
    'dark': ('--ink: #eee', '--ink: #666',
             r'dark: <h1> .* has a contrast of 3\.\d\d:1 \(#666666 on #191817\); 3:1|'
             r'dark: .* has a contrast of 3\.\d\d:1 \(#666666 on #191817\); 4.5:1 is needed'),
    'half seen': ('<p>Too dry', '<p style="opacity: 0.5">Too dry', r'<p> .* has a contrast of'),
    'over night': ('--soft: #e4dfd2', '--soft: #555', r'light: <text> "night" .* on #555555'),
    'gradient': ('<p>Too dry', '<p style="background: linear-gradient(#888, #444)">Too dry',
                 r'light: <p> .* on #444444'),
    'tiny': ('font-size: 12px', 'font-size: 7px', r'"night" in #e0 is 7.0 px high'),
    'image': ('<p>Too dry', '<img alt="" src="http://pictures.invalid/a.png"><p>Too dry',
              (r'source: .*<img src="http://pictures.invalid/a.png"> leads outside',
               r'phone: it asks for http://pictures.invalid/a.png|violates.*pictures.invalid')),
    'font': ('<style>', '<style>@import "fonts.css"; h1 { background: url(a.png) }',
             (r'@import leads outside', r'url\(a.png\) leads outside')),
    'fetch': ('<script>', '<script>fetch("https://count.invalid/").catch(() => 0);',
              (r'a script reaches outside by fetch', r'knows the address https://count.invalid/',
               r'count.invalid')),
    'link out': ('<p>Too dry', '<a href="https://warm.invalid/">by</a><p>Too dry',
                 r'<a href="https://warm.invalid/"> leads outside'),
    'dead link': ('href="#e1"', 'href="#nowhere"',
                  (r'href="#nowhere" leads nowhere', r'no link leads to the section #e1',
                   r'Enter on the link to #nowhere does not bring it')),
    'two of one id': ('id="e1"', 'id="e0"', r'id "e0" is that of line \d+ too'),
    'unreachable': ('<a href="#e1"', '<a tabindex="-1" href="#e1"',
                    r'Tab never reaches the link .* to #e1'),
    'no ring': ('outline: 3px solid var(--ink)', 'outline: none',
                r'nothing shows that <a> "Enclosure 0" has the focus'),
    'pale ring': ('outline: 3px solid var(--ink)', 'outline: 3px solid var(--soft)',
                  r'nothing shows that <a> "Enclosure 0" has the focus'),
    'no arrival': ('<script>', '<script>addEventListener("click", e => e.preventDefault());',
                   r'Enter on the link to #e0 does not bring it into view'),
    'console': ('<script>', '<script>console.error("oh dear");', r'phone: console error: oh dear'),
    'exception': ('<script>', '<script>setTimeout(() => none.such, 5);',
                  r'a script fails: ReferenceError: none is not defined'),
    'nameless': (' aria-label="Humidity fell at night"', '', r'<svg> has no name'),
    'no role': (' role="img"', '', r'<svg> is neither aria-hidden nor role="img"'),
    'no alt': ('<p>Too dry', '<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw="><p>Too dry',
               r'<img> has no alt'),
    'headless': (' scope="col"', '', r'<th> has no scope'),
    'jump': ('<h2>Enclosure 1</h2>', '<h2>Enclosure 1</h2><h4>Air</h4>', r'<h4> skips a level'),
    'two heads': ('<h2>Enclosure 1</h2>', '<h1>Enclosure 1</h1>', r'2 <h1>; one is right'),
    'no lang': (' lang="en"', '', r'<html> says no lang'),
    'no title': ('<title>A stub</title>', '', r'<title> is missing'),
    'unclosed': ('</section>', '', r'<section> of line \d+ is not closed before </main>'),
    'no number': ('3:10', 'nan', r'its text says "nan"'),
    'broken curve': ('d="M0,10 H300"', 'd="M0,10 Hnan"', r'<path d> says "nan"'),
    'deaf': ("svg.addEventListener('pointermove', point)", '',
             r'desk: the mouse over the graph of .* changes nothing'),
    'two tales': ('show(Math.round(', 'show(0.5 + Math.round(',
                  r'desk: the mouse over the graph of .* its range never does'),
    'deaf keys': ("range.addEventListener('input', () => show(Number(range.value)))",
                  "range.addEventListener('input', e => e.isTrusted || show(Number(range.value)))",
                  r'the keyboard on the range of .* does not lead to'),
    'local time': ("i % 12 * 5 + ' min: '", "new Date(i * 3e5).toLocaleTimeString() + ' min: '",
                   r'elsewhere: the same reading is ".*" here and ".*" in another'),
    'needs scripts': ('<p>Too dry for 3 h.</p>',
                      '<script>document.write("<p>Too dry for 3 h.</p>")</script>',
                      r'without scripts: .* words are gone|without scripts: .* is not'),
    'wide paper': ('@media print {', '@media print { table { width: 900px } .wide { overflow: '
                   'visible }', r'on paper: .* sticks out'),
    'raw label': ('Enclosure 1</h2>', 'Enclosure <i>1</h2>', r'<i> of line \d+ is not closed'),
}


def broken(name):
    old, new, expected = BROKEN[name]
    text = whole(2)
    if old not in text:
        sys.exit('pagestubs: "%s" has nothing to replace' % name)
    if name in ('needs scripts', 'headless', 'tiny', 'unclosed', 'nameless', 'no role'):
        return text.replace(old, new, 1), expected
    return text.replace(old, new), expected


def judged(chromium, path, expected):
    """What is wrong with page.py's judgement of a stub; '' when nothing."""
    faults, _ = page.look(chromium, path, enclosures=2)
    if not expected:
        return '; '.join(faults)
    missed = [one for one in ((expected,) if isinstance(expected, str) else expected)
              if not any(re.search(one, fault) for fault in faults)]
    if missed:
        return 'not told: %s; told: %s' % (missed, faults)
    return ''


def main():
    if sys.argv[1] == '--make':
        with open(sys.argv[2], 'w', encoding='utf-8') as out:
            out.write(whole(int(sys.argv[3]) if len(sys.argv) > 3 else 12))
        return 0
    bad = 0
    with browser.Browser() as chromium:
        for name in ('faultless', *BROKEN):
            text, expected = (whole(2), None) if name == 'faultless' else broken(name)
            path = os.path.join(sys.argv[1], name.replace(' ', '-') + '.html')
            with open(path, 'w', encoding='utf-8') as out:
                out.write(text)
            began = time.monotonic()
            wrong = judged(chromium, path, expected)
            bad += bool(wrong)
            print('%s: %s (%.1f s)' % (name, wrong or 'as expected', time.monotonic() - began),
                  flush=True)
    return 1 if bad else 0


if __name__ == '__main__':
    sys.exit(main())
