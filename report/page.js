/* SPDX-License-Identifier: GPL-3.0-or-later
   Reading values off the pictures by mouse, finger or keyboard.  All pictures
   share one time axis; their numbers are read back from the drawn lines. */
(() => {
  'use strict';
  const body = document.body, root = document.documentElement;
  const begin = +body.dataset.begin, end = +body.dataset.end;
  const from = +body.dataset.from, step = +body.dataset.step, columns = +body.dataset.columns;
  const zone = body.dataset.zone.trim().split(' ').map(entry => entry.split(':').map(Number));
  const celsius = !body.dataset.fahrenheit;
  const known = new Map();
  let asked = null;

  /* The values of a plot, a column each; undefined where nothing is known. */
  function valuesOf(plot) {
    if (known.has(plot)) return known.get(plot);
    const values = [], high = +plot.dataset.high;
    const path = plot.querySelector('.reading');
    for (const run of path.getAttribute('d').split('M').slice(1)) {
      let x = 0, y = 0, first = true;
      for (const [, letter, numbers] of ('l' + run).matchAll(/([lhv])([^lhv]*)/g)) {
        const n = (numbers.match(/-?\d+/g) || []).map(Number);
        const dx = letter === 'v' ? 0 : n[0], dy = letter === 'h' ? 0 : letter === 'v' ? n[0] : n[1];
        if (first) {
          x = dx; y = dy; first = false;
          values[(x - 1) / 2] = high - y / 100;
          continue;
        }
        for (let i = 2; i <= dx; i += 2) values[(x + i - 1) / 2] = high - (y + dy * i / dx) / 100;
        x += dx; y += dy;
      }
    }
    known.set(plot, values);
    return values;
  }

  function show(plot, column) {
    const value = valuesOf(plot)[column];
    if (value === undefined) return 'unknown';
    return plot.dataset.quantity === 'humidity' ? Math.round(value) + ' %'
      : value.toFixed(1).replace(/^-0\.0$/, '0.0') + (celsius ? ' °C' : ' °F');
  }

  /* Whether another place has a band of the same quantity. */
  function alike(plots, plot) {
    return plots.some(other => other !== plot && other.dataset.quantity === plot.dataset.quantity);
  }

  function clock(column) {
    const at = from + (column + .5) * step;
    let ahead = zone[0][1];
    for (const [since, offset] of zone) if (at >= since) ahead = offset;
    const text = new Date((at + ahead) * 1000).toISOString();
    return (step * columns > 130000 ? text.slice(0, 10) + ' ' : '') + text.slice(11, 16);
  }

  function read(column) {
    column = Math.max(0, Math.min(columns - 1, column));
    root.classList.add('reads');
    const at = (from + (column + .5) * step - begin) / (end - begin);
    root.style.setProperty('--at', Math.max(0, Math.min(100, at * 100)));
    const time = clock(column);
    for (const plot of document.querySelectorAll('.plot'))
      plot.parentElement.querySelector('output').textContent = time + '  ' + show(plot, column);
    for (const link of document.querySelectorAll('.sheet a')) {
      const section = document.getElementById(link.hash.slice(1));
      const plots = section ? [...section.querySelectorAll('.plot')] : [];
      const judged = plots.filter(plot => plot.dataset.band);
      if (judged.length) link.querySelector('output').textContent = time + '  ' +
        judged.map(plot => (alike(judged, plot) ? plot.dataset.place + ' ' : '') + show(plot, column)).join(', ');
    }
    for (const scrub of document.querySelectorAll('.scrub')) {
      scrub.value = column;
      scrub.setAttribute('aria-valuetext', time);
    }
  }

  function ask(column) {
    if (asked === null)
      requestAnimationFrame(() => {
        const column = asked;
        asked = null;
        if (column !== null) read(column);
      });
    asked = column;
  }

  function over(event) {
    const picture = event.target.closest('.plot, .strip');
    if (!picture) return;
    const box = picture.querySelector('svg').getBoundingClientRect();
    const at = begin + (event.clientX - box.left) / box.width * (end - begin);
    ask(Math.floor((at - from) / step));
  }

  /* Whoever follows a link to an enclosure wants to see it. */
  function unfold() {
    const section = document.getElementById(location.hash.slice(1));
    const calm = section && section.querySelector('.calm');
    if (calm) calm.open = true;
  }
  addEventListener('hashchange', unfold);
  document.addEventListener('click', event => { if (event.target.closest('a')) setTimeout(unfold); });
  unfold();

  /* On paper everything is there. */
  const folded = [];
  addEventListener('beforeprint', () => {
    folded.push(...document.querySelectorAll('details:not([open])'));
    for (const one of folded) one.open = true;
  });
  addEventListener('afterprint', () => {
    for (const one of folded.splice(0)) one.open = false;
  });

  /* A page that nobody makes anew stays up, and stays calm. */
  const old = document.createElement('p');
  old.className = 'old';
  function warn() {
    const hours = Math.floor((Date.now() / 1000 - body.dataset.made) / 3600);
    if (hours < 26) return;
    old.textContent = 'This page is ' + (hours < 48 ? hours + ' h' : Math.floor(hours / 24) + ' days') +
      ' old. What is true now is not on it.';
    document.querySelector('h1').before(old);
  }
  document.addEventListener('visibilitychange', warn);
  setInterval(warn, 600000);
  warn();
  if (!columns) return;
  document.addEventListener('pointermove', over);
  document.addEventListener('pointerdown', over);
  function leave() {
    asked = null;
    root.classList.remove('reads');
  }
  document.addEventListener('pointerout', event => {
    if (event.pointerType === 'mouse' && event.target.closest('.plot, .strip')) leave();
  });
  document.addEventListener('pointercancel', leave); /* it became a scroll */
  document.addEventListener('pointerdown', event => {
    if (!event.target.closest('.plot, .strip, .scrub')) leave();
  });
  for (const scrub of document.querySelectorAll('.scrub'))
    scrub.addEventListener('input', () => ask(+scrub.value));
  document.addEventListener('keydown', event => {
    if (event.key === 'Escape') leave();
  });
})();
