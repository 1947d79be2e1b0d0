/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The values of one section, each read with its range: what cannot be read
 * or lies outside is a fault that says what would be right.
 */
#ifndef WARMSIDE_CONF_VALUE_H
#define WARMSIDE_CONF_VALUE_H

#include "conf/fault.h"
#include "conf/load_grammar.h"
#include "conf/model.h"
#include "conf/template.h"
#include "conf/titles.h"

/* What is known of a bus beside its model: enough not to take its probes
 * to task for faults of the bus. */
struct bus_said {
	bool has_speaks;
	bool has_template;              /* a good one */
	struct line_template template;
};

enum { REFERRED = 3 }; /* kinds of sections that others refer to */

/* Everything the resolve files need at hand. */
struct resolve {
	struct conf *conf;      /* being filled */
	struct section top;
	struct script *script;
	struct faults *faults;
	const char *path;       /* of the first file: "@" names are beside it */
	struct bus_said *buses; /* beside conf->buses */
	struct titles known[REFERRED]; /* the sections others refer to, when first asked for */
	bool no_webhooks;       /* nor the heartbeat: secrets are not for everybody to read */
};

/* Absent is not the same as told of: after a fault nothing more is said of
 * the value, and no default takes its place in a check. */
enum said { ABSENT, GIVEN, FAULTY };

/* Adds "<where at stands>: <text>" as a fault at that statement. */
void complain(struct resolve *resolve, const struct statement *at, const char *format, ...)
	__attribute__((format(printf, 3, 4)));

/* "day = "31..27 C"", for sentences; a long value is shortened. Returns buf. */
enum { SHOWN_TEXT = 128 };
char *shown(const struct statement *value, char buf[SHOWN_TEXT]);

/* Each take_ function returns whether the key is there and good; only then
 * it fills what out points to.  The text it may return belongs to the script. */

/* A text of one line, at most `most` characters, not empty. */
enum said take_text(struct resolve *resolve, struct section section, const char *key, size_t most,
		    const char **out);

/* One of the words; *out is its index. */
enum said take_choice(struct resolve *resolve, struct section section, const char *key,
		      const char *const words[], size_t count, size_t *out);

/* A whole number from low to high. */
enum said take_whole(struct resolve *resolve, struct section section, const char *key, int low,
		     int high, int *out);

/* A duration from low to high, in s; "0s" is one when low is 0. */
enum said take_duration(struct resolve *resolve, struct section section, const char *key,
			double low, double high, double *out);

/* A difference above 0, up to `most` °C or %. */
enum said take_difference(struct resolve *resolve, struct section section, const char *key,
			  enum quantity quantity, double most, double *out);

enum said take_time_of_day(struct resolve *resolve, struct section section, const char *key,
			   int *out);

/* A range whose low edge is below its high edge, both plausible for a probe
 * to measure: -40..85 °C, 0..100 %. */
enum said take_range(struct resolve *resolve, struct section section, const char *key,
		     enum quantity quantity, struct range *out);

/* True when the value is plausible for a probe to measure. */
bool is_plausible(enum quantity quantity, double value);

/* A key that must be there; complains at the section's head when it is not. */
bool has_key(struct resolve *resolve, struct section section, const char *key,
	     const char *example);

/* The name of a section, checked: letters, digits, blank, - and _, at most
 * 40, no blank at its ends.  Never NULL. */
const char *take_name(struct resolve *resolve, struct section section);

/* A key that names another section of that kind, such as bus = "rack".
 * *index is the place among the sections of that kind at the top. */
enum said take_reference(struct resolve *resolve, struct section section, const char *key,
			 const char *kind, size_t *index);

#endif
