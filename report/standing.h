/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The alerts that stood at an instant, as the log told of them until then.
 */
#ifndef WARMSIDE_REPORT_STANDING_H
#define WARMSIDE_REPORT_STANDING_H

#include "report/alerts.h"

struct standing {
	bool known;             /* the log can be read, or there is none yet */
	struct alert_list alerts; /* the latest telling of each, the gravest first; acknowledged
				   * ones too, those of what is still to come not */
};

/* Of <state>/alerts.jsonl at that instant, s since the epoch; what was logged later changes
 * nothing.  Not known after a sentence on standard error.  Cleared with standing_clear. */
void standing_load(const char *state, double instant, struct standing *out);
void standing_clear(struct standing *standing);

/* What tells that the probe at a place is silent or frozen; NULL when nothing does. */
const struct alert_record *standing_of_probe(const struct standing *standing,
					     const char *enclosure, enum place place);

#endif
