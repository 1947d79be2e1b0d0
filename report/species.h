/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is configured of a species or an enclosure: each value with who says it and
 * where it comes from.
 */
#ifndef WARMSIDE_REPORT_SPECIES_H
#define WARMSIDE_REPORT_SPECIES_H

#include "conf/source.h"
#include "report/request.h"

enum speaker { BUILT_IN, SPECIES_SAYS, ENCLOSURE_SAYS };

/* One rule as it is told. */
struct told {
	const char *season;     /* its name; NULL: the ordinary rule */
	enum place place;
	enum quantity quantity;
	const struct rule *rule; /* the configuration's */
	bool has[SOURCE_KEYS];  /* there is something to be told of that key */
	enum speaker by[SOURCE_KEYS];
	char *source[SOURCE_KEYS]; /* NULL: none is said, or none is needed */
	bool in_season;         /* a season changes it today: today is valid */
	struct rule today;      /* its texts belong to the configuration */
};

/* All rules of a species or an enclosure: the ordinary ones in the order of the
 * places, then those of each season. */
struct telling {
	struct told *list;
	size_t count;
};

/* The ordinary rules of a species, and those of its seasons. */
struct telling species_telling(const struct species *species);

/* The rules an enclosure has where something is measured, its species' overridden by
 * its own, with what is in force at that instant, and those of its seasons.  A value that its species says too counts as the
 * species'. */
struct telling enclosure_telling(const struct conf *conf, const struct enclosure *enclosure,
				 double instant);

void telling_clear(struct telling *telling);

/* True when the species says anything of that place. */
bool has_place(const struct species *species, enum place place);

/* "day", "night", "limits": they are ranges, the others durations. */
bool is_range(enum source_key key);

/* The range of such a key of a rule; the duration of one of the others, s. */
struct range rule_range(const struct rule *rule, enum source_key key);
double rule_duration(const struct rule *rule, enum source_key key);

/* "built in", "species", "enclosure" */
const char *speaker_word(enum speaker speaker);

/* "15 Nov to 15 Feb, coming and going in 14 days", "until 14 Mar 2026", "without dates";
 * malloc'ed, the caller frees. */
char *dates_text(const struct season_dates *dates);

/* ---- how it is told: of one species or one enclosure (the other NULL), of both where
 * they have one name, or of all species (both NULL). ---- */
struct species_request {
	const struct request *request;
	const struct species *species;
	const struct enclosure *enclosure;
};

/* All of them, for people. */
void species_table(const struct conf *conf, const struct terminal *terminal);
void species_text(const struct species_request *asked);
void species_json(const struct species_request *asked);
void species_csv(const struct species_request *asked);

#endif
