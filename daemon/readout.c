/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Readings and ports for somebody at a terminal; see readout.h.
 */
#include "daemon/readout.h"

#include <ev.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#include <jansson.h>

#include "conf/layout.h"
#include "conf/lockfile.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "conf/words.h"
#include "daemon/gate.h"
#include "daemon/loop_bus.h"
#include "daemon/when.h"

enum {
	LEAST_WAIT = 5,         /* s */
	POLLS = 2,              /* intervals to wait for a probe that is not asked */
	MOST_WAIT = 120,
	TRIES = 2,
	NOW_CEILING = 16 << 20, /* bytes */
};

struct answer {
	bool read;
	int failed;             /* times: a bus asks a second time in each round */
	struct reading reading;
	enum cause cause;
};

struct readout {
	const struct conf *conf;
	struct ev_loop *ev;
	struct answer *answers; /* as conf->probes */
	char **closed;          /* as conf->buses: why the port is not open, or NULL */
};

struct heard_bus {
	struct readout *readout;
	size_t index;
	struct loop_bus on;
};

/* ---- asking ---------------------------------------------------------------- */

static double wall(void *context)
{
	(void)context;
	return when_wall();
}

static bool complete(const struct readout *readout)
{
	for (size_t p = 0; p < readout->conf->probe_count; p++) {
		const struct answer *answer = &readout->answers[p];

		if (!answer->read && answer->failed < TRIES &&
		    !readout->closed[readout->conf->probes[p].bus])
			return false;
	}
	return true;
}

static void stop_when_complete(struct readout *readout)
{
	if (complete(readout))
		ev_break(readout->ev, EVBREAK_ALL);
}

static void on_asked(void *context, size_t probe)
{
	(void)context;
	(void)probe;
}

static void on_reading(void *context, const struct reading *reading)
{
	struct heard_bus *bus = context;
	struct answer *answer = &bus->readout->answers[reading->probe];

	answer->read = true;
	answer->reading = *reading;
	stop_when_complete(bus->readout);
}

static void on_failed(void *context, size_t probe, enum cause cause)
{
	struct heard_bus *bus = context;

	if (probe == NO_PROBE)
		return;
	bus->readout->answers[probe].failed++;
	bus->readout->answers[probe].cause = cause;
	stop_when_complete(bus->readout);
}

static void on_port_state(void *context, bool open, const char *why)
{
	struct heard_bus *bus = context;
	char **closed = &bus->readout->closed[bus->index];

	free(*closed);
	*closed = open ? NULL : must_copy(why);
	stop_when_complete(bus->readout);
}

static void on_patience(struct ev_loop *ev, ev_timer *timer, int events)
{
	(void)timer;
	(void)events;
	ev_break(ev, EVBREAK_ALL);
}

static double patience(const struct conf *conf)
{
	double longest = LEAST_WAIT;

	for (size_t b = 0; b < conf->bus_count; b++)
		if (conf->buses[b].speaks == SPEAKS_LINES && !conf->buses[b].ask)
			longest = fmax(longest, POLLS * conf->buses[b].every);
	return fmin(longest, MOST_WAIT);
}

static void ask_all(struct readout *readout)
{
	const struct conf *conf = readout->conf;
	struct heard_bus *buses = must_calloc(conf->bus_count, sizeof *buses);
	ev_timer limit;

	readout->ev = ev_default_loop(EVFLAG_AUTO);
	if (!readout->ev) {
		free(buses);
		return;
	}
	ev_timer_init(&limit, on_patience, patience(conf), 0);
	ev_timer_start(readout->ev, &limit);
	for (size_t b = 0; b < conf->bus_count; b++) {
		const struct bus_sink sink = { &buses[b], on_asked, on_reading, on_failed,
					       on_port_state };

		buses[b].readout = readout;
		buses[b].index = b;
		loop_bus_start(&buses[b].on, readout->ev, conf, b, &sink, wall);
	}
	ev_run(readout->ev, 0);
	for (size_t b = 0; b < conf->bus_count; b++)
		loop_bus_stop(&buses[b].on, readout->ev);
	ev_loop_destroy(readout->ev);
	free(buses);
}

/* ---- from the daemon -------------------------------------------------------- */

static void take_known(struct readout *readout, json_t *probe)
{
	const char *name = json_string_value(json_object_get(probe, "name"));
	json_t *raw = json_object_get(probe, "raw"), *time = json_object_get(probe, "time");

	for (size_t p = 0; name && p < readout->conf->probe_count; p++) {
		struct answer *answer = &readout->answers[p];

		if (strcmp(readout->conf->probes[p].name, name) != 0)
			continue;
		answer->read = json_is_number(time);
		answer->failed = answer->read ? 0 : TRIES;
		answer->cause = NO_ANSWER;
		answer->reading.time = json_number_value(time);
		for (int q = 0; q < QUANTITIES; q++) {
			json_t *value = json_object_get(raw, quantity_word((enum quantity)q));

			answer->reading.has[q] = json_is_number(value);
			answer->reading.value[q] = json_number_value(value);
		}
	}
}

static void from_daemon(struct readout *readout)
{
	char *path = state_path(readout->conf->state, NOW_FILE);
	size_t size, index;
	char *text = file_read(path, NOW_CEILING, &size);
	json_t *whole = text ? json_loadb(text, size, 0, NULL) : NULL, *probe;

	json_array_foreach(json_object_get(whole, "probes"), index, probe)
		take_known(readout, probe);
	json_decref(whole);
	free(text);
	free(path);
}

/* ---- printing --------------------------------------------------------------- */

/* Where a probe sits: "T3 cool side", or "nowhere". */
static void print_where(const struct conf *conf, size_t probe)
{
	bool found = false;

	for (size_t e = 0; e < conf->enclosure_count; e++)
		for (int p = 0; p < PLACES; p++) {
			const struct place_conf *at = &conf->enclosures[e].places[p];

			if (!at->watched || at->probe != probe)
				continue;
			printf("%s%s %s", found ? ", " : "", conf->enclosures[e].name,
			       p == ROOM_AIR ? "" : place_phrase((enum place)p));
			found = true;
		}
	puts(found ? "" : "at no place");
}

static void print_values(const struct conf *conf, const struct probe *probe,
			 const struct reading *reading)
{
	char raw[MEASURE_TEXT], corrected[MEASURE_TEXT];

	for (int q = 0; q < QUANTITIES; q++) {
		enum quantity quantity = (enum quantity)q;
		const struct correction *correction = &probe->correction[q];
		bool is_corrected = correction->offset != 0 || correction->slope != 1;

		if (!reading->has[q]) {
			printf("  %-30s", probe->gives[q] ? "no value" : "");
			continue;
		}
		show_value(reading->value[q], quantity, conf->units, raw);
		show_value(gate_correct(quantity, correction, reading->value[q]), quantity,
			   conf->units, corrected);
		char *both = is_corrected ? must_print("%s (raw %s)", corrected, raw)
					  : must_copy(raw);
		/* Columns are counted in characters; a degree sign takes two bytes. */
		int extra = quantity == TEMPERATURE ? (is_corrected ? 2 : 1) : 0;

		printf("  %-*s", 30 + extra, both);
		free(both);
	}
}

static const char *excuse(enum cause cause)
{
	static const char *const excuses[CAUSES] = {
		[NO_ANSWER] = "no answer: right address, power, baud?",
		[GARBLED] = ("garbled answer: right baud and parity? A and B swapped? "
			     "two probes on one address?"),
		[WRONG_ADDRESS] = "somebody else answered: right address?",
		[REFUSED] = "answered, but has no such register",
		[IMPLAUSIBLE] = "implausible value",
		[SPIKE] = "implausible value",
	};

	return excuses[cause];
}

static bool print_probe(const struct readout *readout, size_t index)
{
	const struct probe *probe = &readout->conf->probes[index];
	const struct answer *answer = &readout->answers[index];
	const char *closed = readout->closed[probe->bus];

	printf("%-16s", probe->name);
	if (answer->read) {
		print_values(readout->conf, probe, &answer->reading);
		printf("  %.0f s ago  ", fmax(when_wall() - answer->reading.time, 0));
		print_where(readout->conf, index);
	} else if (closed) {
		printf("  bus \"%s\": %s\n", readout->conf->buses[probe->bus].name, closed);
	} else {
		printf("  %s\n", answer->failed ? excuse(answer->cause) : "nothing heard");
	}
	return answer->read;
}

int readout_probes(const struct conf *conf)
{
	struct readout readout = {
		.conf = conf,
		.answers = must_calloc(conf->probe_count, sizeof *readout.answers),
		.closed = must_calloc(conf->bus_count, sizeof *readout.closed),
	};
	bool all = true;

	if (conf->state && state_is_held(conf->state)) {
		puts("The daemon holds the ports; its latest readings:");
		from_daemon(&readout);
	} else {
		ask_all(&readout);
	}
	for (size_t p = 0; p < conf->probe_count; p++)
		all &= print_probe(&readout, p);
	for (size_t b = 0; b < conf->bus_count; b++)
		free(readout.closed[b]);
	free(readout.closed);
	free(readout.answers);
	return all ? EXIT_SUCCESS : EXIT_FAILURE;
}
