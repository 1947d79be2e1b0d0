// SPDX-License-Identifier: GPL-3.0-or-later
//
// How clearly each text of a page stands out from what is behind it; adds to
// the object of pagelook.js.  What lies behind is found once for a layout, its
// colours anew each time.
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

// What was reckoned of an element in this light.
let reckoned = new Map();

function once(el, what, reckon) {
	if (!reckoned.has(el))
		reckoned.set(el, {});
	const known = reckoned.get(el);
	if (!(what in known))
		known[what] = reckon();
	return known[what];
}

function opacity(el) {
	return once(el, 'opacity', () => Number(getComputedStyle(el).opacity) *
		(el.parentElement ? opacity(el.parentElement) : 1));
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

function box_colours(style) {
	const image = style.backgroundImage.match(/(rgba?|color)\([^()]*\)/g);
	return [[look.colour(style.backgroundColor)]].concat(
		image ? [image.map(look.colour).concat([[0, 0, 0, 0]])] : []);
}

// What an element paints, from the bottom up: lists of the colours that may be
// there.  part: its `box`, or the `fill` or `stroke` of a shape.
function layers(el, part) {
	return once(el, part, () => {
		const style = getComputedStyle(el), fade = opacity(el);
		const found = part === 'box' ? box_colours(style) :
			[paint_colours(style[part], style[part + 'Opacity'])];
		return found.filter(list => list.length).map(list => list.map(c => faded(c, fade)));
	});
}

function canvas() {
	const probe = document.createElement('div');
	document.documentElement.append(probe);
	probe.style.backgroundColor = 'Canvas';
	const found = look.colour(getComputedStyle(probe).backgroundColor);
	probe.remove();
	return found;
}

// The colours that may come of what is painted one over the other.
function mixed(painted, base) {
	let found = [base];
	for (const [el, part] of painted)
		for (const list of layers(el, part)) {
			const next = new Map();
			for (const top of list)
				for (const c of found) {
					const both = look.over(top, c);
					next.set(hex(both), both);
				}
			found = [...next.values()].slice(0, 16);
		}
	return found;
}

// An element and its ancestors, the outermost first.
function ancestors(el) {
	const found = [];
	for (; el; el = el.parentElement)
		if (!el.ownerSVGElement)
			found.unshift([el, 'box']);
	return found;
}

// The colour that lies behind an element, as far as its ancestors paint it.
look.behind = el => {
	reckoned = new Map();
	return mixed(ancestors(el), canvas())[0];
};

// ---- where the texts are ------------------------------------------------------
function texts() {
	const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT), found = [];
	while (walk.nextNode()) {
		const node = walk.currentNode, el = node.parentElement;
		if (node.data.trim() && shown(el) &&
		    !/^(script|style|title|desc|option)$/.test(el.localName))
			found.push({ node, el });
	}
	return found;
}

function rects_of(node) {
	const range = document.createRange();
	range.selectNodeContents(node);
	return [...range.getClientRects()].filter(rect => !for_ears(rect));
}

// What may be painted where it is no ancestor's place: graphs, and boxes out
// of the flow.
function strays() {
	return [...document.body.querySelectorAll('*')].filter(el => {
		if (el.ownerSVGElement)
			return false;
		const style = getComputedStyle(el);
		return el.localName === 'svg' || (/absolute|fixed|sticky/.test(style.position) &&
			!(look.colour(style.backgroundColor)[3] === 0 && style.backgroundImage === 'none'));
	}).map(el => ({ el, rect: el.getBoundingClientRect() }));
}

function meets(one, other) {
	return one.left < other.right && other.left < one.right && one.top < other.bottom &&
		other.top < one.bottom;
}

// What of an element is painted at a point.
function parts_at(el, x, y) {
	if (!el.ownerSVGElement)
		return [[el, 'box']];
	if (!(el instanceof SVGGeometryElement))
		return [];
	const at = new DOMPoint(x, y).matrixTransform(el.getScreenCTM().inverse());
	const width = parseFloat(getComputedStyle(el).strokeWidth);
	return (el.isPointInFill(at) ? [[el, 'fill']] : [])
		// A hairline beneath a text is not what it is read against.
		.concat(width >= 3 && el.isPointInStroke(at) ? [[el, 'stroke']] : []);
}

// All that is painted below an element at a point, from the bottom up.
function painted_at(el, x, y) {
	const stack = document.elementsFromPoint(x, y), own = stack.indexOf(el);
	return own < 0 ? ancestors(el) :
		stack.slice(own).reverse().flatMap(under => parts_at(under, x, y));
}

// What is painted behind a text, at three points of each of its lines if it
// differs.  `rects`, and those of others: where they are before any scrolling.
function spots_of({ node, el, rects }, others) {
	const spots = [];
	if (!rects.length)
		return spots;
	if (!el.ownerSVGElement && !others.some(other => !other.el.contains(el) &&
			rects.some(rect => meets(rect, other.rect))))
		return [ancestors(el)];
	const now = rects_of(node)[0];
	if (now.top < 0 || now.bottom > innerHeight)
		scrollTo({ top: scrollY + now.top - 80, behavior: 'instant' });
	for (const rect of rects_of(node))
		for (const part of [0.03, 0.5, 0.97])
			spots.push(painted_at(el, rect.left + part * rect.width,
					      rect.top + rect.height / 2));
	return spots;
}

let found_texts = [], found_for = '';

function find_texts() {
	const root = document.scrollingElement, layout = root.scrollWidth + 'x' + root.scrollHeight;
	if (layout === found_for)
		return;
	scrollTo({ top: 0, behavior: 'instant' });
	const others = strays();
	found_texts = texts();
	// Everything painted is to be found below a point.
	const sheet = new CSSStyleSheet();
	sheet.replaceSync('* { pointer-events: auto !important }');
	document.adoptedStyleSheets = [sheet];
	for (const text of found_texts)
		text.rects = rects_of(text.node);
	for (const text of found_texts)
		text.spots = spots_of(text, others);
	document.adoptedStyleSheets = [];
	scrollTo({ top: 0, behavior: 'instant' });
	found_for = layout;
}

// ---- how they stand out -------------------------------------------------------
function scale_of(el) {
	const matrix = el.ownerSVGElement && el.getScreenCTM();
	return matrix ? Math.hypot(matrix.a, matrix.b) : 1;
}

// A text's own colours, its size on the screen, and the contrast it needs.
function ink(el) {
	const style = getComputedStyle(el), svg = el.ownerSVGElement;
	const size = parseFloat(style.fontSize) * scale_of(el);
	const large = size >= LARGE || (size >= LARGE_BOLD && Number(style.fontWeight) >= 700);
	const paints = svg ? paint_colours(style.fill, style.fillOpacity) :
		[look.colour(style.color)];
	const halo = svg && style.paintOrder.startsWith('stroke') && style.stroke !== 'none' &&
		parseFloat(style.strokeWidth) * scale_of(el) >= 2 ? look.colour(style.stroke) : null;
	return { paints: paints.map(c => faded(c, opacity(el))), size, halo, needed: large ? 3 : 4.5 };
}

// The worst contrast of a text, over all that may be behind it.
function worst({ el, spots }, base) {
	const { paints, size, halo, needed } = once(el, 'ink', () => ink(el));
	let found = null;
	for (const spot of spots)
		for (let under of mixed(spot, base)) {
			if (halo)
				under = look.over(halo, under);
			for (const paint of paints) {
				const text = look.over(paint, under), ratio = look.ratio(text, under);
				if (!found || ratio < found.ratio)
					found = { ratio, size, needed, text: hex(text), under: hex(under) };
			}
		}
	return found;
}

// WCAG 2.1, 1.4.3: https://www.w3.org/TR/WCAG21/#contrast-minimum
look.contrast = () => {
	unfold();
	find_texts();
	reckoned = new Map();
	const base = canvas(), faults = new Map();
	let count = 0, least = 99;
	const add = (key, sentence) => {
		if (!faults.has(key))
			faults.set(key, { sentence, more: 0 });
		else
			faults.get(key).more++;
	};
	for (const text of found_texts) {
		const found = worst(text, base);
		if (!found)
			continue;
		count++;
		least = Math.min(least, found.ratio);
		if (found.ratio < found.needed)
			add(found.text + found.under,
			    `${name_of(text.el)} has a contrast of ${found.ratio.toFixed(2)}:1 ` +
			    `(${found.text} on ${found.under}); ${found.needed}:1 is needed`);
		if (found.size < LEAST_TEXT - 0.01)
			add(`size ${found.size.toFixed(1)}`, `${name_of(text.el)} is ` +
			    `${found.size.toFixed(1)} px high on the screen; ${LEAST_TEXT} can be read`);
	}
	return { count, least, faults: [...faults.values()].map(
		f => f.sentence + (f.more ? `, and ${f.more} more like it` : '')) };
};
})(globalThis.look);
