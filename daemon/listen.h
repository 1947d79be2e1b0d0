/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What an unknown board prints on a port, heard for a while.
 */
#ifndef WARMSIDE_DAEMON_LISTEN_H
#define WARMSIDE_DAEMON_LISTEN_H

#include "conf/model.h"
#include "daemon/guess.h"
#include "daemon/lines.h"
#include "daemon/port.h"

enum { HEARD_LINES = 200, HEARD_PROBES = 64 };

struct heard {
	int baud;
	size_t bytes;           /* of whatever kind */
	size_t bad;             /* lines that were no text */
	char *lines[HEARD_LINES]; /* the latest ones, in order */
	double times[HEARD_LINES]; /* mono s */
	size_t count;
	bool news;              /* lines the guess does not know yet */
	bool guessed;           /* guess is valid */
	struct guess guess;
};

void heard_free(struct heard *heard);

enum listen_end {
	LISTEN_OVER,            /* all has been heard, or time is up */
	LISTEN_STOPPED,         /* by the keeper */
	LISTEN_NO_PORT,
};

/* Listens with the bus's settings; sends its `ask`, if there is one without
 * {probe}, every 2 s.  Ends when a template is found and every probe has been
 * heard, which is when one comes for the second time; after `first` s without a
 * byte; after 5 s when what comes is no text; after 65 s at all events.
 * signals is of await_signals().  LISTEN_NO_PORT: why. */
enum listen_end listen_run(const struct bus *bus, double first, int signals, struct heard *heard,
			   char why[PORT_WHY]);

/* The same on a port nobody has described, at one common baud after another
 * while bytes come but no text. */
enum listen_end listen_bauds(const char *port, double first, int signals, struct heard *heard,
			     char why[PORT_WHY]);

/* Keeps a line, and lets go of the earliest when there is no room. */
void heard_add(struct heard *heard, const char *line, double mono);

/* Guesses the template of what was heard. */
void heard_guess(struct heard *heard);

/* At the end of listening, at mono: names that only ever grew, in lines that still keep
 * coming, are a counter's or a clock's and no probes.  {probe} becomes {}. */
void heard_settle(struct heard *heard, double mono);

/* The latest line the template does not fit, which may be a probe's; NULL: none. */
const char *heard_stranger(const struct heard *heard);

/* A probe that was heard: its latest line. */
struct heard_probe {
	struct line_values values; /* token is "" without {probe} */
};

/* Those of the lines that fit the guess, each once, sorted by name, numbers
 * in names by their value. */
size_t heard_probes(const struct heard *heard, struct heard_probe list[HEARD_PROBES]);

/* s between two lines of the first probe heard twice; false when none was. */
bool heard_interval(const struct heard *heard, double *seconds);

#endif
