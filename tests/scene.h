/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A scene for tests of the whole flow: a room of enclosures, each with a probe
 * at its warm and one at its cool side, fed once a minute; every event is
 * written down as a line, so that a test is a table of what must happen when.
 */
#ifndef WARMSIDE_TESTS_SCENE_H
#define WARMSIDE_TESTS_SCENE_H

#include "daemon/flow.h"
#include "daemon/watch.h"

enum { SCENE_MOST = 80, SCENE_BEGIN = 1767614400 }; /* 2026-01-05T12:00:00Z, by day */

struct scene {
	struct conf *conf;
	struct flow *flow;
	size_t enclosures;
	size_t first;           /* its first probe: those of `more` are before it */
	double now;             /* the next minute to be fed */
	/* What each enclosure's probes give, and the room's as the last. */
	double warm[SCENE_MOST], cool[SCENE_MOST], humidity[SCENE_MOST];
	bool mute[SCENE_MOST];  /* its probes give nothing */
	struct watch *watch;    /* fed through it (tests/stage.h), or NULL */
	size_t minutes;         /* minutes that went to the archive, of E1: ... */
	double least, most, known; /* ... lowest and highest value (°C) and known s of its cool
				* side's temperature */
	char *log;              /* "1:00 raised E1 cool_side humidity below_band today", ... */
	size_t events;
};

/* So many enclosures "E1", ... of a species with bands 27..31 °C (warm side),
 * 23..27 °C and 45..60 % (cool side), limits 15..36 °C and 25..85 %, patience 1 h
 * and 2 h, and the room; `more` is further configuration, `inside` goes into
 * each enclosure.  All is in its band. */
void scene_begin(struct scene *scene, size_t enclosures, const char *more, const char *inside);
void scene_end(struct scene *scene);

/* Feeds so many minutes; at each, the probes first, then a tick. */
void scene_run(struct scene *scene, int minutes);

/* The daemon ends and begins again at once, or after so many s. */
void scene_restart(struct scene *scene, double pause);

/* What has been written since the last call must be these lines, each ended by
 * a newline. */
void scene_expect(struct scene *scene, const char *lines);

/* What a keeper asks; must be taken. */
void scene_ask(struct scene *scene, enum asked what, const char *enclosure, double seconds);

#endif
