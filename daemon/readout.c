/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What each probe says, once; see readout.h.
 */
#include "daemon/readout.h"

#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include <jansson.h>

#include "conf/layout.h"
#include "conf/lockfile.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "conf/words.h"
#include "daemon/gate.h"
#include "daemon/readout_view.h"
#include "daemon/when.h"

enum {
	NOW_CEILING = 16 << 20, /* bytes */
	STALE_AFTER = 15,       /* s: it is renewed every 5 */
	LOST_AFTER = 2,         /* askings in vain: each is tried twice in a round */
};

/* ---- taking in ---------------------------------------------------------------- */

static bool is_plausible(const struct reading *reading)
{
	for (int q = 0; q < QUANTITIES; q++)
		if (reading->has[q] && gate_is_plausible((enum quantity)q, reading->value[q]))
			return true;
	return false;
}

void readout_take(struct readout *readout, const struct reading *reading)
{
	const struct probe *probe = &readout->conf->probes[reading->probe];
	struct answer *answer = &readout->answers[reading->probe];
	struct heard *heard = &readout->heard[reading->probe];

	answer->read = true;
	answer->reading = *reading;
	answer->failed = 0;
	if (reading->has[TEMPERATURE])
		warming_take(&answer->warming, reading->time,
			     gate_correct(TEMPERATURE, &probe->correction[TEMPERATURE],
					  reading->value[TEMPERATURE]));
	*heard = (struct heard){ .answers = is_plausible(reading) };
	if (!heard->answers)
		misses_add(&heard->missed, IMPLAUSIBLE);
}

void readout_explain(struct readout *readout)
{
	const struct conf *conf = readout->conf;

	for (size_t p = 0; p < conf->probe_count; p++)
		if (readout->answers[p].failed >= LOST_AFTER)
			readout->heard[p].answers = false;
	for (size_t p = 0; p < conf->probe_count; p++) {
		struct answer *answer = &readout->answers[p];
		const char *closed = readout->closed[conf->probes[p].bus];
		/* Whoever watches sees for himself that a board takes its time. */
		bool waiting = readout->watching && !answer->read && answer->failed == 0;

		free(answer->trouble);
		answer->trouble = closed ? must_print("bus \"%s\": %s",
						      conf->buses[conf->probes[p].bus].name, closed)
				  : readout->heard[p].answers || waiting
					  ? NULL
					  : diagnose(conf, p, readout->heard);
	}
}

/* ---- from the daemon -------------------------------------------------------- */

static void take_known(struct readout *readout, json_t *known)
{
	const char *name = json_string_value(json_object_get(known, "name"));
	const char *trouble = json_string_value(json_object_get(known, "trouble"));
	json_t *raw = json_object_get(known, "raw"), *time = json_object_get(known, "time");

	for (size_t p = 0; name && p < readout->conf->probe_count; p++) {
		struct answer *answer = &readout->answers[p];
		struct reading reading = { .probe = p, .time = json_number_value(time) };

		if (strcmp(readout->conf->probes[p].name, name) != 0)
			continue;
		for (int q = 0; q < QUANTITIES; q++) {
			json_t *value = json_object_get(raw, quantity_word((enum quantity)q));

			reading.has[q] = json_is_number(value);
			reading.value[q] = json_number_value(value);
		}
		if (json_is_number(time) && (!answer->read || reading.time > answer->reading.time))
			readout_take(readout, &reading);
		free(answer->trouble);
		answer->trouble = trouble ? must_copy(trouble) : NULL;
	}
}

/* Whose readings these are, and of when. */
static char *source_of(const struct readout *readout, const json_t *whole, const char *path,
		       int error)
{
	double age = fmax(when_wall() - json_number_value(json_object_get(whole, "time")), 0);
	bool held = state_is_held(readout->conf->state);
	char text[MEASURE_TEXT];

	if (!whole && error == ENOENT && held)
		return must_copy("The daemon holds the ports; it has just begun and shows no readings "
				 "yet.");
	if (!whole)
		return must_print("The daemon holds the ports, and what it reads cannot be shown: %s: "
				  "%s.", path, error ? strerror(error) : "it is not whole");
	show_duration(age, text);
	if (!held)
		return must_print("The daemon has ended; these are its last readings, %s old.", text);
	if (age > STALE_AFTER)
		return must_print("The daemon holds the ports, but has renewed nothing for %s: these "
				  "readings are old, and its log may say why.", text);
	return must_print("The daemon holds the ports; its readings of %s ago:", text);
}

void readout_from_daemon(struct readout *readout)
{
	char *path = state_path(readout->conf->state, NOW_FILE);
	size_t size, index;
	char *text = file_read(path, NOW_CEILING, &size);
	int error = text ? 0 : errno;
	json_t *whole = text ? json_loadb(text, size, 0, NULL) : NULL, *probe;

	for (size_t p = 0; whole && p < readout->conf->probe_count; p++) {
		free(readout->answers[p].trouble);
		readout->answers[p].trouble =
			must_copy("the daemon does not know it: it began before the configuration "
				  "named it, and reads that again at SIGHUP");
	}
	json_array_foreach(json_object_get(whole, "probes"), index, probe)
		take_known(readout, probe);
	free(readout->source);
	readout->source = source_of(readout, whole, path, error);
	json_decref(whole);
	free(text);
	free(path);
}

/* ---- begin, end, and once -------------------------------------------------------- */

void readout_begin(struct readout *readout, const struct conf *conf)
{
	*readout = (struct readout){
		.conf = conf,
		.answers = must_calloc(conf->probe_count, sizeof *readout->answers),
		.heard = must_calloc(conf->probe_count, sizeof *readout->heard),
		.closed = must_calloc(conf->bus_count, sizeof *readout->closed),
		.from_daemon = conf->state && state_is_held(conf->state),
	};
}

void readout_end(struct readout *readout)
{
	for (size_t p = 0; p < readout->conf->probe_count; p++)
		free(readout->answers[p].trouble);
	for (size_t b = 0; b < readout->conf->bus_count; b++)
		free(readout->closed[b]);
	free(readout->answers);
	free(readout->heard);
	free(readout->closed);
	free(readout->source);
}

size_t readout_width(void)
{
	struct winsize size;

	return ioctl(STDOUT_FILENO, TIOCGWINSZ, &size) == 0 ? size.ws_col : 0;
}

int readout_probes(const struct conf *conf)
{
	struct readout readout;
	bool all = true;

	readout_begin(&readout, conf);
	if (readout.from_daemon)
		readout_from_daemon(&readout);
	else
		readout_ask(&readout);
	readout_show(&readout, stdout, readout_width(), when_wall());
	for (size_t p = 0; p < conf->probe_count; p++)
		all &= readout.answers[p].read && !readout.answers[p].trouble;
	readout_end(&readout);
	return all ? EXIT_SUCCESS : EXIT_FAILURE;
}
