# SPDX-License-Identifier: GPL-3.0-or-later
"""Can page.py fail?  Small pages with many faults, and one with none.

    pagestubs.py DIR              makes them there and looks at all in one browser
    pagestubs.py --make FILE [N]  writes the faultless one of N enclosures

Each fault made must be told; of the faultless page, none.
"""

import math
import os
import re
import sys
import time

import browser
import page
import pagesource

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


# Pages with faults that do not hide each other.  Of each fault: what is
# replaced, by what, and what must then be told.
TEXT = '<h2>Enclosure %d</h2>\n<p'
BROKEN = {
    'source': (
        ('link out', TEXT % 0, '<a href="https://warm.invalid/">by</a>' + TEXT % 0,
         r'<a href="https://warm.invalid/"> leads outside'),
        ('script address', '<script>', '<script>const home = "https://count.invalid/";',
         r'knows the address https://count.invalid/'),
        ('@import', '<style>', '<style>@import "fonts.css";', r'@import leads outside'),
        ('two of one id', 'id="e1"', 'id="e0"', r'id "e0" is that of line \d+ too'),
        ('nameless graph', ' aria-label="Humidity fell at night"', '', r'<svg> has no name'),
        ('no role', '<svg aria-hidden="true">', '<svg>',
         r'<svg> is neither aria-hidden nor role="img"'),
        ('no alt', TEXT % 0, '<img src="data:image/gif;base64,R0lGODlhAQABAAAAACw=">' + TEXT % 0,
         r'<img> has no alt'),
        ('no scope', ' scope="col"', '', r'<th> has no scope'),
        ('no head', '<tr><th scope="col">what</th><th scope="col">below</th></tr>', '',
         None),
        ('jump', TEXT % 2, '<h4>Air</h4>' + TEXT % 2, r'<h4> skips a level'),
        ('two heads', 'Enclosure 1</h2>', 'Enclosure 1</h2><h1>Again</h1>',
         r'2 <h1>; one is right'),
        ('no lang', ' lang="en"', '', r'<html> says no lang'),
        ('no title', '<title>A stub</title>', '', r'<title> is missing'),
        ('unclosed', '</section>', '', r'<section> of line \d+ is not closed before </main>'),
        ('raw label', 'Enclosure 3</h2>', 'Enclosure <i>3</h2>', r'<i> of line \d+ is not closed'),
        ('no number', '3:10', 'nan', r'its text says "nan"'),
        ('broken curve', 'd="M0,10 H300"', 'd="M0,10 Hnan"', r'<path d> says "nan"'),
        ('stray byte', '</script>', '\0</script>', r'line \d+: byte 0 has no place'),
        ('dead reference', '<output data', '<output aria-labelledby="none" data',
         r'aria-labelledby="none" leads nowhere')),
    'narrow': (
        ('wide', TEXT % 0, TEXT % 0 + ' style="width: 500px"',
         r'phone, light: <p> "Too dry for 3 h." in #e0 sticks out of the 390 px'),
        ('sideways', TEXT % 0, TEXT % 0, r'it is \d+ px wide where 390 are seen'),
        ('cut', TEXT % 1, TEXT % 1 + ' style="width: 2em; overflow: hidden; white-space: nowrap"',
         r'<p> "Too dry for 3 h." in #e1 is cut off at the side'),
        ('cut text', '<text x="32%" y="16"', '<text x="99%" y="16"',
         r'<text> "night" in #e0 is cut off by the edge of its graph'),
        ('half seen', TEXT % 2, TEXT % 2 + ' style="opacity: 0.5"',
         r'light: <p> .* in #e2 has a contrast of'),
        ('gradient', TEXT % 3, TEXT % 3 + ' style="background: linear-gradient(#888, #444)"',
         r'light: <p> .* in #e3 .* on #444444'),
        ('tiny', 'font-size: 12px', 'font-size: 7px', r'"night" in #e\d is 7.0 px high'),
        ('image', TEXT % 0, '<img alt="" src="http://pictures.invalid/a.png">' + TEXT % 0,
         r'phone: the browser objects: .*pictures.invalid/a.png.* violates'),
        ('unreachable', '<a href="#e1"', '<a tabindex="-1" href="#e1"',
         r'Tab never reaches the link .* to #e1'),
        ('deaf keys', "range.addEventListener('input', () => show(Number(range.value)))",
         "range.addEventListener('input', e => e.isTrusted || show(Number(range.value)))",
         r'the keyboard on the range of the graph .* does not lead to'),
        ('console', '<script>', '<script>console.error("oh dear");',
         r'phone: console error: oh dear')),
    'free': (
        ('request', '<meta http-equiv="Content-Security-Policy"', '<meta name="none"', None),
        ('asked for', '<script>', '<script>fetch("https://count.invalid/").catch(() => 0);',
         r'phone: it asks for https://count.invalid/'),
        ('over night', '--soft: #e4dfd2', '--soft: #555', r'light: <text> "night" .* on #555555'),
        ('no ring', 'outline: 3px solid var(--ink)', 'outline: none',
         r'nothing shows that <a> "Enclosure 0" has the focus'),
        ('dead link', 'href="#e1"', 'href="#nowhere"',
         r'source: .*href="#nowhere" leads nowhere'),
        ('unlinked', 'href="#nowhere"', 'href="#nowhere"', r'no link leads to the section #e1'),
        ('no arrival', 'href="#nowhere"', 'href="#nowhere"',
         r'Enter on the link to #nowhere does not bring it into view'),
        ('deaf', "svg.addEventListener('pointermove', point)", '',
         r'desk: the mouse over the graph .* changes nothing'),
        ('exception', '<script>', '<script>setTimeout(() => none.such, 5);',
         r'a script fails: ReferenceError: none is not defined')),
    'dark': (
        ('dark', '--ink: #eee', '--ink: #777',
         r'dark: .* has a contrast of 3\.\d\d:1 \(#777777 on #191817\); 4.5:1 is needed'),
        ('pale ring', 'outline: 3px solid var(--ink)', 'outline: 3px solid var(--soft)',
         r'nothing shows that <a> "Enclosure 0" has the focus'),
        ('no viewport', '<meta name="viewport" content="width=device-width, initial-scale=1">', '',
         r'laid out 980 px wide on a screen of 390'),
        ('local time', "i % 12 * 5 + ' min: '", "new Date(i * 3e5).toLocaleTimeString() + ': '",
         r'elsewhere: the same reading is ".*" here and ".*" in another'),
        ('needs scripts', '<p>Too dry for 3 h.</p>',
         '<script>document.write("<p>Too dry for 3 h.</p>")</script>',
         r'without scripts: \d+ of its words are gone: .*Too dry'),
        ('wide paper', '@media print {', '@media print { table { width: 900px } .wide { overflow: '
         'visible }', r'on paper: .* sticks out')),
    'hindered': (
        ('no arrival', '<script>', '<script>addEventListener("click", e => e.preventDefault());',
         r'Enter on the link to #e3 does not bring it into view'),
        ('two tales', 'show(Math.round(', 'show(0.5 + Math.round(',
         r'desk: the mouse over the graph .* its range never does'),
        ('too few', '<nav ', '<nav ',
         r'links lead to 4 sections; 5 enclosures are expected')),
}


def broken(name):
    """(text of a page with its faults, [(fault, what must be told)])"""
    text, expected = whole(4), []
    for fault, old, new, told in BROKEN[name]:
        if old not in text:
            sys.exit('pagestubs: nothing to replace for "%s"' % fault)
        text = text.replace(old, new, 1)
        if told:
            expected.append((fault, told))
    return text, expected


def judge(name, faults, expected):
    """Says which faults were not told; how many."""
    missed = [fault for fault, told in expected if not any(re.search(told, f) for f in faults)]
    for fault in missed:
        print('%s: "%s" is not told' % (name, fault))
    if missed or not expected:
        print('\n'.join('  told: ' + fault for fault in faults))
    return len(missed) + (not expected and len(faults))


def main():
    if sys.argv[1] == '--make':
        with open(sys.argv[2], 'w', encoding='utf-8') as out:
            out.write(whole(int(sys.argv[3]) if len(sys.argv) > 3 else 12))
        return 0
    bad = 0
    browser.deadline(page.LIMIT)
    with browser.Browser() as chromium:
        for name in ('faultless', *BROKEN):
            text, expected = (whole(4), []) if name == 'faultless' else broken(name)
            path = os.path.join(sys.argv[1], name + '.html')
            with open(path, 'w', encoding='utf-8') as out:
                out.write(text)
            began = time.monotonic()
            if name == 'source':
                faults, _ = pagesource.check(path)
            else:
                # What is waited for never comes; more than that is no harm.
                faults, _ = page.look(chromium, path, enclosures=5 if name == 'hindered' else 4,
                                      patience=0.5 if expected else 5.0)
            bad += judge(name, faults, expected)
            print('%s: %d faults expected (%.1f s)' % (name, len(expected),
                                                       time.monotonic() - began), flush=True)
    return 1 if bad else 0


if __name__ == '__main__':
    sys.exit(main())
