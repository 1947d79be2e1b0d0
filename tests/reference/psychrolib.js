// SPDX-License-Identifier: GPL-3.0-or-later
//
//     node psychrolib.js FILE-OF-PSYCHROLIB TABLE
//
// The rows of TABLE (psychrolib.tsv's form) with PsychroLib's own figures in
// place of those written there, for run-psychrolib.sh.
'use strict';
const fs = require('fs');
const [file, table] = process.argv.slice(2);
const psychrolib = require(file);
const PRESSURE = 101325;
const ICE_BELOW = 0.01;	// °C, where PsychroLib changes from ice to water

psychrolib.SetUnitSystem(psychrolib.SI);
for (const line of fs.readFileSync(table, 'utf8').split('\n')) {
	if (line === '' || line.startsWith('#'))
		continue;
	const [t, percent] = line.split('\t').map(Number);
	const rh = percent / 100;
	const point = psychrolib.GetTDewPointFromRelHum(t, rh);
	const w = psychrolib.GetHumRatioFromRelHum(t, rh, PRESSURE);
	console.log([t, percent,
		psychrolib.GetSatVapPres(t).toFixed(3),
		psychrolib.GetVaporPressureDeficit(t, w, PRESSURE).toFixed(3),
		point.toFixed(4), point > ICE_BELOW ? 'water' : 'ice',
		(1000 * w / psychrolib.GetMoistAirVolume(t, w, PRESSURE)).toFixed(5)].join('\t'));
}
