/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the parts of a readout share; for readout*.c and nobody else.
 */
#ifndef WARMSIDE_DAEMON_READOUT_VIEW_H
#define WARMSIDE_DAEMON_READOUT_VIEW_H

#include <stdio.h>

#include "conf/model.h"
#include "daemon/diagnosis.h"
#include "daemon/reading.h"
#include "daemon/warming.h"

/* What is known of a probe. */
struct answer {
	bool read;
	struct reading reading; /* the latest, valid when read */
	int failed;             /* askings since then that came to nothing */
	struct warming warming;
	char *trouble;          /* why it gives none (now); NULL when it does, or nobody knows */
};

struct readout {
	const struct conf *conf;
	struct answer *answers; /* as conf->probes */
	struct heard *heard;    /* as conf->probes */
	char **closed;          /* as conf->buses: why the port is not open, or NULL */
	char *source;           /* whose readings these are, a sentence; NULL: our own */
	bool from_daemon;
	bool watching;
};

/* ---- readout.c ---------------------------------------------------------------- */

/* Nothing is known yet; freed with readout_end.  conf must outlive it. */
void readout_begin(struct readout *readout, const struct conf *conf);
void readout_end(struct readout *readout);

/* Columns of the terminal that standard output is; 0 when it is none. */
size_t readout_width(void);

/* Takes a reading in. */
void readout_take(struct readout *readout, const struct reading *reading);

/* Reads what the daemon knows anew; says in readout->source how old that is. */
void readout_from_daemon(struct readout *readout);

/* The sentences for those who give no readings, from the counts. */
void readout_explain(struct readout *readout);

/* ---- readout_ask.c ------------------------------------------------------------- */

/* Asks all buses until every probe has answered or failed twice, bounded. */
void readout_ask(struct readout *readout);

/* Goes on asking, or looking at what the daemon knows; calls `shown` about once
 * a second, and `hide` around a stop by the terminal (Ctrl-Z).  Returns after
 * SIGINT, SIGTERM, SIGHUP or SIGQUIT; false when it cannot begin. */
bool readout_follow(struct readout *readout, void (*shown)(void *context),
		    void (*hide)(void *context, bool hidden), void *context);

/* ---- readout_show.c ------------------------------------------------------------ */

/* Where a probe sits: "Third tub cool side, room", or "nowhere"; malloc'ed. */
char *readout_where(const struct conf *conf, size_t probe);

/* "26.4 °C (raw 26.8 °C)"; "" when the probe gives no such thing; malloc'ed. */
char *readout_value(const struct readout *readout, size_t probe, enum quantity quantity);

/* "+3.2 °C"; malloc'ed. */
char *readout_change(const struct conf *conf, double change);

/* The probe that rises most now; NO_PROBE when none does. */
size_t readout_riser(const struct readout *readout);

/* The whole picture, for a screen of so many columns; 0: any width. */
void readout_show(const struct readout *readout, FILE *out, size_t width, double now);

#endif
