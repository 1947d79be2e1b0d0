/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What was asked on the command line, as a command gets it.
 */
#ifndef WARMSIDE_REPORT_REQUEST_H
#define WARMSIDE_REPORT_REQUEST_H

#include <stdbool.h>
#include <stddef.h>
#include <stdio.h>

#include "conf/model.h"
#include "report/salt.h"
#include "report/salt_line.h"
#include "report/terminal.h"
#include "report/window.h"

enum format { FORMAT_UNSAID, FORMAT_TEXT, FORMAT_JSON, FORMAT_CSV, FORMAT_PNG, FORMAT_SVG,
	      FORMAT_HTML };

enum { DONE = 0, FAILED = 1, USAGE = 2 }; /* what the program returns */

/* A jar over a salt: from when it was closed to when it was opened. */
struct salt_test {
	enum salt salt;
	struct window window;
};

struct request {
	const struct conf *conf; /* with a state folder, but for species */
	double now;             /* s since the epoch */
	struct window window;
	bool from_unsaid;       /* the window's begin is not said: a day before its end */
	bool until_now;         /* the window's end is not said: at the last full minute */
	enum format format;
	char *const *words;     /* what stood behind the command's name */
	size_t word_count;
	const char *output;     /* -o; NULL if unsaid */
	int width, height;      /* --size in pixels; 0 if unsaid */
	const struct range *scale[QUANTITIES]; /* --scale in °C or %; NULL if unsaid */
	const char *by, *note;  /* NULL if unsaid */
	bool save;              /* --save */
	struct salt_test tests[SALT_TESTS]; /* --salt, each with its --from and --to */
	size_t test_count;
	struct terminal *terminal; /* where text goes; JSON, CSV and pictures go to stdout */
};

/* The commands; each prints its answer on standard output (graph: into its
 * file) and its troubles on standard error, and returns DONE, FAILED or
 * USAGE. */
int now_command(const struct request *request);
int totals_command(const struct request *request);
int excursions_command(const struct request *request);
int graph_command(const struct request *request);
int morning_command(const struct request *request);
int away_command(const struct request *asked);
int alerts_command(const struct request *request);
int drying_command(const struct request *request);
int species_command(const struct request *request);
int shelve_command(const struct request *request);
int ack_command(const struct request *request);
int salt_command(const struct request *request);

#endif
