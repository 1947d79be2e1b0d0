// SPDX-License-Identifier: GPL-3.0-or-later
//
// What page.py asks of a page from inside it: its value is an object of
// functions, each of which returns what it found as plain values.  Only looks,
// but for the open <details> and the keyboard's focus.  How clearly texts stand
// out is pagecontrast.js's.
(() => {
'use strict';
const look = {};

look.name_of = el => {
	const section = el.closest('section[id]');
	const words = (el.getAttribute('aria-label') || el.textContent || '').trim()
		.replace(/\s+/g, ' ').slice(0, 40);
	return `<${el.localName}>` + (words ? ` "${words}"` : '') +
		(section ? ` in #${section.id}` : '');
};

look.shown = el => {
	return el.checkVisibility({ checkOpacity: true, checkVisibilityCSS: true });
};

// Taken out of sight for screen readers: one pixel, or far off to the left.
look.for_ears = rect => {
	return rect.width <= 1 || rect.height <= 1 || rect.right <= 0;
};

look.unfold = () => {
	document.querySelectorAll('details').forEach(el => { el.open = true; });
};

const { name_of, shown, for_ears, unfold } = look;

// ---- nothing sticks out -----------------------------------------------------
function scroller_of(el) {
	for (el = el.parentElement; el && el !== document.body; el = el.parentElement)
		if (/auto|scroll/.test(getComputedStyle(el).overflowX))
			return el;
	return null;
}

function sticks_out(el, width) {
	const rect = el.getBoundingClientRect();
	return !for_ears(rect) && (rect.right > width + 1 || rect.left < -1) &&
		shown(el) && !scroller_of(el);
}

// The part whose text an element cuts off at its sides; null when only
// ornament goes, or nothing.
function cut_part(el) {
	const style = getComputedStyle(el), box = el.getBoundingClientRect();
	if (!/hidden|clip/.test(style.overflowX) || style.textOverflow === 'ellipsis' ||
	    for_ears(box) || el.scrollWidth <= el.clientWidth + 1 || !shown(el))
		return null;
	const walk = document.createTreeWalker(el, NodeFilter.SHOW_TEXT);
	const range = document.createRange();
	while (walk.nextNode()) {
		range.selectNodeContents(walk.currentNode);
		const part = walk.currentNode.parentElement;
		if (walk.currentNode.data.trim() && shown(part) && [...range.getClientRects()].some(
			rect => rect.width > 1 && (rect.right > box.right + 1 || rect.left < box.left - 1)))
			return part;
	}
	return null;
}

// Text of a graph that its own frame cuts off.
function is_cut_text(el) {
	const rect = el.getBoundingClientRect();
	let svg = el.ownerSVGElement;
	while (svg.ownerSVGElement)
		svg = svg.ownerSVGElement;
	const frame = svg.getBoundingClientRect();
	return rect.width > 0 && getComputedStyle(svg).overflowX !== 'visible' && shown(el) &&
		(rect.right > frame.right + 1 || rect.left < frame.left - 1 ||
		 rect.bottom > frame.bottom + 2 || rect.top < frame.top - 2);
}

look.overflow = wanted => {
	unfold();
	const root = document.scrollingElement, width = root.clientWidth, faults = [], out = [];
	if (wanted && width !== wanted)
		faults.push(`it is laid out ${width} px wide on a screen of ${wanted}: ` +
			    'has it <meta name="viewport" content="width=device-width">?');
	if (root.scrollWidth > width)
		faults.push(`it is ${root.scrollWidth} px wide where ${width} are seen: ` +
			    'it scrolls sideways');
	for (const el of document.body.querySelectorAll('*')) {
		if (el.ownerSVGElement) {
			if (el.localName === 'text' && is_cut_text(el))
				faults.push(`${name_of(el)} is cut off by the edge of its graph`);
		} else if (out.some(other => other.contains(el))) {
			continue;
		} else if (sticks_out(el, width)) {
			out.push(el);
			faults.push(`${name_of(el)} sticks out of the ${width} px that are seen`);
		} else if (cut_part(el)) {
			out.push(el);
			faults.push(`${name_of(cut_part(el))} is cut off at the side`);
		}
	}
	return faults;
};

// ---- the keyboard -----------------------------------------------------------
let links = [], rings = new Map();
const FOCUSABLE = 'a[href], button, input, select, textarea, summary, [tabindex]';

function ring_of(el) {
	return [el, el.parentElement, ...el.children].map(part => {
		const style = getComputedStyle(part);
		return { outline: style.outlineStyle === 'none' ? null :
				`${style.outlineStyle} ${style.outlineWidth} ${style.outlineColor}`,
			shadow: style.boxShadow, colour: style.outlineColor,
			style: style.outlineStyle, width: parseFloat(style.outlineWidth) };
	});
}

// Links within the page, and what everything looks like without the focus.
look.links = () => {
	unfold();
	// Tab goes on from where the focus was last, even if that is gone.
	const top = document.createElement('span');
	top.tabIndex = -1;
	document.body.prepend(top);
	top.focus();
	top.remove();
	scrollTo({ top: 0, behavior: 'instant' });
	rings = new Map([...document.querySelectorAll(FOCUSABLE)].map(el => [el, ring_of(el)]));
	links = [...document.querySelectorAll('a[href^="#"]')];
	return links.map(el => ({ to: el.getAttribute('href').slice(1), name: name_of(el) }));
};
look.stops = () => rings.size;

// Is there a ring now that was not there before, and does it stand out?  Its
// contrast: WCAG 2.1, 1.4.11.
function has_ring(el) {
	const before = rings.get(el) || [];
	return ring_of(el).some((now, i) => {
		const then = before[i] || {};
		if (now.shadow !== then.shadow && now.shadow !== 'none')
			return true;
		if (!now.outline || now.width === 0 || now.outline === then.outline)
			return false;
		if (now.style === 'auto')       // the browser's own, of two colours
			return true;
		const under = look.behind(el.parentElement);
		return look.ratio(look.over(look.colour(now.colour), under), under) >= 3;
	});
}

look.focused = () => {
	const el = document.activeElement;
	if (!el || el === document.body || el === document.documentElement)
		return null;
	const rect = el.getBoundingClientRect();
	return { link: links.indexOf(el), name: name_of(el), ring: has_ring(el),
		stop: [...rings.keys()].indexOf(el),
		seen: rect.bottom > 0 && rect.top < innerHeight && rect.width > 1 };
};

look.focus_link = i => {
	links[i].focus({ preventScroll: true });
};

// Does the head of what a link leads to stand in the window?
look.arrived = i => {
	const target = document.getElementById(links[i].getAttribute('href').slice(1));
	const head = target && (target.querySelector('h2') || target).getBoundingClientRect();
	return Boolean(head) && head.top > -1 && head.bottom < innerHeight + 1;
};

// Sections with a heading that no link leads to, but those that hold the links.
look.unlinked = () => [...document.querySelectorAll('section[id]')]
	.filter(el => el.querySelector('h2') && !el.querySelector('a[href^="#"]') &&
		!links.some(link => link.getAttribute('href') === '#' + el.id))
	.map(el => el.id);

// ---- readings ---------------------------------------------------------------
let hooks = [];

// What an element's nearest ancestor that has such a one has.
function nearest(el, selector, fits) {
	for (let up = el.parentElement; up; up = up.parentElement) {
		const found = [...up.querySelectorAll(selector)].find(fits);
		if (found)
			return found;
	}
	return null;
}

function hook_of(output) {
	const range = nearest(output, 'input[type=range]', shown);
	const svg = nearest(output, 'svg', el => el.getBoundingClientRect().width > 100);
	return svg && range ? { output, range, svg } : null;
}

function words_of(el) {
	return el.textContent.trim().replace(/\s+/g, ' ');
}

// The outputs of readings; whole: each with its graph and its range.
look.hooks = () => {
	const outputs = [...document.querySelectorAll('[data-reading]')];
	hooks = outputs.map(hook_of);
	return hooks.map((hook, i) => ({ whole: Boolean(hook), name: name_of(!hook ? outputs[i] :
		hook.svg.hasAttribute('aria-label') ? hook.svg : hook.svg.closest('a, figure, div')) }));
};

// What is to be read there now: nothing, when it is hidden.
look.reading = i => shown(hooks[i].output) ? words_of(hooks[i].output) : '';

look.show = i => {
	hooks[i].svg.scrollIntoView({ block: 'center', behavior: 'instant' });
	const rect = hooks[i].svg.getBoundingClientRect();
	return { left: rect.left, top: rect.top, width: rect.width, height: rect.height };
};

// What the page leaves to its next frame is done at once.
function without_frames(act) {
	const real = globalThis.requestAnimationFrame, left = [];
	globalThis.requestAnimationFrame = then => left.push(then);
	act();
	while (left.length)
		left.shift()(performance.now());
	globalThis.requestAnimationFrame = real;
}

function read_at(hook, position) {
	const { range, output } = hook;
	without_frames(() => {
		range.value = Number(range.min || 0) + position * (Number(range.step) || 1);
		range.dispatchEvent(new Event('input', { bubbles: true }));
	});
	return words_of(output);
}

function last_position(range) {
	return Math.floor((Number(range.max || 100) - Number(range.min || 0)) /
		(Number(range.step) || 1));
}

// What all outputs tell at some positions of their ranges, evenly from the
// first to the last.
look.samples = count => {
	const found = [];
	for (const range of new Set(hooks.filter(Boolean).map(hook => hook.range))) {
		const own = hooks.filter(hook => hook && hook.range === range);
		for (let n = 0; n < count; n++) {
			read_at(own[0], Math.round(last_position(range) * n / (count - 1)));
			found.push(...own.map(hook => words_of(hook.output)));
		}
	}
	return found;
};

// The position of the range that tells this: where it stands, or any; -1: none.
look.position = (i, told) => {
	const { range } = hooks[i], last = last_position(range);
	const now = Math.round((Number(range.value) - Number(range.min || 0)) /
		(Number(range.step) || 1));
	if (read_at(hooks[i], now) === told)
		return now;
	for (let position = 0; position <= last; position++)
		if (read_at(hooks[i], position) === told)
			return position;
	return -1;
};

// One position before or after the one wanted, with the focus; the key that
// leads back.
look.beside = (i, position) => {
	const back = position > 0;
	read_at(hooks[i], position + (back ? -1 : 1));
	hooks[i].range.focus({ preventScroll: true });
	return back ? 'ArrowRight' : 'ArrowLeft';
};

// ---- words ------------------------------------------------------------------
// What is seen, without what the script writes and the controls it needs.
look.words = () => {
	unfold();
	const hidden = [...document.querySelectorAll('[data-reading], input')];
	const before = hidden.map(el => el.style.display);
	hidden.forEach(el => { el.style.display = 'none'; });
	const words = document.body.innerText.split(/\s+/).filter(Boolean);
	for (const el of document.querySelectorAll('svg text'))
		if (shown(el))
			words.push(...el.textContent.split(/\s+/).filter(Boolean));
	hidden.forEach((el, i) => { el.style.display = before[i]; });
	return words;
};
return look;
})()
