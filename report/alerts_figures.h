/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Figures about the alerts of a window, after what ISA-18.2 and IEC 62682
 * would have counted.  Pure.
 */
#ifndef WARMSIDE_REPORT_ALERTS_FIGURES_H
#define WARMSIDE_REPORT_ALERTS_FIGURES_H

#include "report/alerts.h"

enum {
	FREQUENT_MOST = 5,      /* so many of the most frequent are named */
	FLOOD_RAISES = 10,      /* more raised than this ... */
	BURST_SECONDS = 600,    /* ... within this, both ends counted, are a flood */
};

/* How often the same was raised. */
struct frequent {
	const struct alert_record *what; /* the first of them; points into the history */
	size_t count;
};

struct alert_figures {
	size_t events[EVENTS];  /* records in the window */
	size_t untold;          /* raised, and no message told it */
	size_t priorities[PRIORITIES]; /* raised with each */
	const struct alert_life *longest; /* of those that stood in the window; NULL: none */
	size_t stale;           /* of those that stood in the window */
	size_t waits;           /* acknowledgements in the window */
	double median_wait, longest_wait; /* s to acknowledgement, valid when waits > 0 */
	struct frequent frequent[FREQUENT_MOST]; /* the most frequent first */
	size_t frequent_count;
	size_t burst;           /* most raised within BURST_SECONDS */
	double burst_from;      /* when that began, when burst > 0 */
	size_t burst_messages;  /* how many messages told them */
};

/* An alert counts with the whole time it stood, also where that is outside the
 * window; what still stands counts to now.  What was raised counts when it was
 * in the window.  A test is no alert. */
void figures_of(const struct alerts *alerts, double now, struct alert_figures *out);

/* Whether an alert stands, or stood, for too long. */
bool alert_is_stale(const struct alert_life *life, double now);

#endif
