// SPDX-License-Identifier: GPL-3.0-or-later
//
// How clearly each text of a page stands out from what is behind it; adds to
// the object of pagelook.js.
(look => {
'use strict';
const LARGE = 24, LARGE_BOLD = 18.66;           // px: WCAG 2.1's 18 pt, and 14 pt bold
const LEAST_TEXT = 10;          // px on the screen; common practice, no source
const { name_of, shown, for_ears, unfold } = look;

const colours = new Map();

// A computed colour as [r, g, b, alpha]: 0..255 and 0..1.
look.colour = text => {
	if (!colours.has(text)) {
		const [, kind, list] = text.match(/^(rgba?|color)\((.*)\)$/) || [];
		const numbers = (list || '').replace('srgb', '').split(/[\s,/]+/).filter(Boolean)
			.map(Number);
		if (!kind || numbers.slice(0, 3).some(Number.isNaN))
			throw new Error(`a colour this test cannot read: ${text}`);
		const [r, g, b, alpha = 1] = numbers, scale = kind === 'color' ? 255 : 1;
		colours.set(text, [r * scale, g * scale, b * scale, alpha]);
	}
	return colours.get(text);
};

function faded(c, by) {
	return [c[0], c[1], c[2], c[3] * by];
}

look.over = (top, under) => {
	return [0, 1, 2].map(i => top[i] * top[3] + under[i] * (1 - top[3])).concat(1);
};

// WCAG 2.1, "relative luminance" and "contrast ratio":
// https://www.w3.org/TR/WCAG21/#dfn-relative-luminance (from memory; its 0.03928
// and sRGB's 0.04045 give the same for 8-bit colours).
function luminance(c) {
	const [r, g, b] = c.slice(0, 3).map(v => v / 255)
		.map(v => v <= 0.03928 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
	return 0.2126 * r + 0.7152 * g + 0.0722 * b;
}

look.ratio = (one, other) => {
	const [low, high] = [luminance(one), luminance(other)].sort((a, b) => a - b);
	return (high + 0.05) / (low + 0.05);
};

function hex(c) {
	return '#' + c.slice(0, 3).map(v => Math.round(v).toString(16).padStart(2, '0')).join('');
}

function opacity(el) {
	let all = 1;
	for (; el; el = el.parentElement)
		all *= Number(getComputedStyle(el).opacity);
	return all;
}

// The colours a pattern or gradient may show; and none, between its lines.
function server_colours(url) {
	const id = (url.match(/#([^")]+)/) || [])[1], server = id && document.getElementById(id);
	const found = [[0, 0, 0, 0]];
	for (const el of server ? server.querySelectorAll('*') : []) {
		const style = getComputedStyle(el);
		for (const paint of el.localName === 'stop' ? [style.stopColor] :
			[style.fill, style.stroke])
			if (/^(rgb|color)/.test(paint))
				found.push(look.colour(paint));
	}
	return found;
}

function paint_colours(paint, alpha) {
	if (paint === 'none')
		return [];
	const all = paint.startsWith('url') ? server_colours(paint) : [look.colour(paint)];
	return all.map(c => faded(c, Number(alpha)));
}

// What an element lays under a point, from the bottom up: lists of the colours
// that may be there.
function layers(el, x, y) {
	const style = getComputedStyle(el), found = [];
	if (el instanceof SVGGeometryElement) {
		const at = new DOMPoint(x, y).matrixTransform(el.getScreenCTM().inverse());
		if (el.isPointInFill(at))
			found.push(paint_colours(style.fill, style.fillOpacity));
		// A hairline beneath a text is not what it is read against.
		if (parseFloat(style.strokeWidth) >= 3 && el.isPointInStroke(at))
			found.push(paint_colours(style.stroke, style.strokeOpacity));
	} else if (!el.ownerSVGElement) {
		found.push([look.colour(style.backgroundColor)]);
		const image = style.backgroundImage.match(/(rgba?|color)\([^()]*\)/g);
		if (image)
			found.push(image.map(look.colour).concat([[0, 0, 0, 0]]));
	}
	const fade = opacity(el);
	return found.filter(list => list.length).map(list => list.map(c => faded(c, fade)));
}

function canvas() {
	const probe = document.createElement('div');
	document.documentElement.append(probe);
	probe.style.backgroundColor = 'Canvas';
	const found = look.colour(getComputedStyle(probe).backgroundColor);
	probe.remove();
	return found;
}

// The colours that may lie behind an element's text at a point: its ancestors'
// and whatever else was painted there before it.  Of no point: its ancestors'.
look.behind = (el, x = -1, y = -1, base = canvas()) => {
	let stack = document.elementsFromPoint(x, y);
	const own = stack.indexOf(el);
	if (own < 0) {
		stack = [];
		for (let up = el; up; up = up.parentElement)
			stack.push(up);
	} else {
		stack = stack.slice(own);
	}
	let found = [base];
	for (const under of stack.reverse())
		for (const list of layers(under, x, y)) {
			const next = new Map();
			for (const top of list)
				for (const c of found) {
					const mixed = look.over(top, c);
					next.set(hex(mixed), mixed);
				}
			found = [...next.values()].slice(0, 16);
		}
	return found;
};

function scale_of(el) {
	const matrix = el.ownerSVGElement && el.getScreenCTM();
	return matrix ? Math.hypot(matrix.a, matrix.b) : 1;
}

// A text's own colour, its size on the screen, and the contrast it needs.
function ink(el) {
	const style = getComputedStyle(el), svg = el.ownerSVGElement;
	const size = parseFloat(style.fontSize) * scale_of(el);
	const large = size >= LARGE || (size >= LARGE_BOLD && Number(style.fontWeight) >= 700);
	const paints = svg ? paint_colours(style.fill, style.fillOpacity) : [look.colour(style.color)];
	const halo = svg && style.paintOrder.startsWith('stroke') && style.stroke !== 'none' &&
		parseFloat(style.strokeWidth) * scale_of(el) >= 2 ? look.colour(style.stroke) : null;
	return { paints: paints.map(c => faded(c, opacity(el))), size, halo, needed: large ? 3 : 4.5 };
}

function texts() {
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), found = [];
	while (walk.nextNode()) {
		const node = walk.currentNode, el = node.parentElement;
		if (!node.data.trim() || /^(script|style|title|desc|option)$/.test(el.localName) ||
		    !shown(el))
			continue;
		found.push([node, el]);
	}
	return found;
}

function rects_of(node) {
	const range = document.createRange();
	range.selectNodeContents(node);
	return [...range.getClientRects()].filter(rect => !for_ears(rect));
}

// The worst contrast of a text node: against all that is behind it at five
// points of each of its lines.
function worst(node, el, base) {
	const { paints, size, halo, needed } = ink(el);
	let found = null;
	for (const rect of rects_of(node))
		for (const part of [0.02, 0.25, 0.5, 0.75, 0.98]) {
			const x = rect.left + part * rect.width, y = rect.top + rect.height / 2;
			for (let under of look.behind(el, x, y, base)) {
				if (halo)
					under = look.over(halo, under);
				for (const paint of paints) {
					const text = look.over(paint, under), ratio = look.ratio(text, under);
					if (!found || ratio < found.ratio)
						found = { ratio, size, needed, text: hex(text), under: hex(under) };
				}
			}
		}
	return found;
}

// WCAG 2.1, 1.4.3: https://www.w3.org/TR/WCAG21/#contrast-minimum
look.contrast = () => {
	unfold();
	const sheet = new CSSStyleSheet(), base = canvas(), faults = new Map();
	let count = 0, least = 99;
	// Everything painted is to be found below a point.
	sheet.replaceSync('* { pointer-events: auto !important }');
	document.adoptedStyleSheets = [sheet];
	const add = (key, sentence) => {
		if (!faults.has(key))
			faults.set(key, { sentence, more: 0 });
		else
			faults.get(key).more++;
	};
	for (const [node, el] of texts()) {
		const first = rects_of(node)[0];
		if (!first)
			continue;
		if (first.top < 0 || first.bottom > innerHeight)
			scrollTo({ top: scrollY + first.top - 60, behavior: 'instant' });
		const found = worst(node, el, base);
		if (!found)
			continue;
		count++;
		least = Math.min(least, found.ratio);
		if (found.ratio < found.needed)
			add(found.text + found.under,
			    `${name_of(el)} has a contrast of ${found.ratio.toFixed(2)}:1 ` +
			    `(${found.text} on ${found.under}); ${found.needed}:1 is needed`);
		if (found.size < LEAST_TEXT - 0.01)
			add(`size ${found.size.toFixed(1)}`, `${name_of(el)} is ${found.size.toFixed(1)} ` +
			    `px high on the screen; ${LEAST_TEXT} can be read`);
	}
	document.adoptedStyleSheets = [];
	scrollTo({ top: 0, behavior: 'instant' });
	return { count, least, faults: [...faults.values()].map(
		f => f.sentence + (f.more ? `, and ${f.more} more like it` : '')) };
};
})(globalThis.look);
