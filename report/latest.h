/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * now.json, as the daemon writes it every few seconds: the latest reading of
 * every place and its state.
 */
#ifndef WARMSIDE_REPORT_LATEST_H
#define WARMSIDE_REPORT_LATEST_H

#include <stdbool.h>
#include <stddef.h>

#include <jansson.h>

#include "conf/layout.h"

enum { STATE_TEXT = 24 };

struct latest_place {
	struct series series;
	char state[STATE_TEXT]; /* "in band", "straying", "unsafe", "silent", "frozen"; "" when not judged */
	bool has_value, has_time, has_band, has_limits;
	double value;           /* °C or % */
	double time;            /* of that reading, s since the epoch */
	struct range band, limits;
};

struct latest_enclosure {
	char *name;
	char state[STATE_TEXT]; /* or "out of service" */
	bool shelved;
	double shelved_until;   /* valid when shelved */
	struct latest_place *places;
	size_t count;
};

/* Why probes give no readings. */
struct latest_trouble {
	char *probes;           /* "t3c, t3w": those with just that trouble */
	char *text;             /* a sentence without its full stop */
};

struct latest {
	double time;            /* when it was written */
	struct latest_enclosure *enclosures;
	size_t count;
	char **lost;            /* buses whose port is closed */
	size_t lost_count;
	struct latest_trouble *troubles;
	size_t trouble_count;
};

/* True and fills *out (latest_clear frees it); keys that are not ours are
 * passed over.  False when it is not such an object. */
bool latest_from_json(const json_t *root, struct latest *out);
void latest_clear(struct latest *latest);

/* The same shape again, with those keys alone (a new reference). */
json_t *latest_to_json(const struct latest *latest);

/* For sorting, worst first: negative when a is worse than b.  Unsafe before
 * straying before silent before frozen before the rest; among equals the one
 * farther outside its band, measured in widths of the band. */
int latest_compare(const struct latest_place *a, const struct latest_place *b);

#endif
