/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The values of the minutes that are not full yet, in a file: who is killed
 * in the middle of a minute goes on with it when it is back.  Two files take
 * turns, so that neither grows.
 */
#ifndef WARMSIDE_DAEMON_SAMPLES_H
#define WARMSIDE_DAEMON_SAMPLES_H

#include "daemon/flow.h"
#include "daemon/journal.h"

struct samples {
	char *path;             /* NULL: nothing is kept */
	struct journal journal;
	bool held;              /* nothing is written for now */
	bool begun;             /* there is a sample in the journal ... */
	double first;           /* ... of then, s since the epoch */
};

/* Values go to the file at path, which is copied, from here on, behind those
 * that are there; the flow, which must be new, is given all that were kept.
 * Those of what it does not know, or of a time it has not reached, are passed
 * over.  samples_close keeps the files. */
void samples_open(struct samples *samples, const char *path, struct flow *flow);
void samples_close(struct samples *samples);

/* Nothing is written from here on; what was not is forgotten. */
void samples_hold(struct samples *samples);

/* From here on with a new file, whatever has become of the one before. */
void samples_anew(struct samples *samples);

/* A value that counted, of that series of an enclosure. */
void samples_note(struct samples *samples, const struct conf *conf, const char *enclosure,
		  struct series series, struct sample sample);

/* Writes what was noted. */
void samples_write(struct samples *samples);

/* The orderly end has closed the minutes: nothing goes on from here. */
void samples_forget(struct samples *samples);

#endif
