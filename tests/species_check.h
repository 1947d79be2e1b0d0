/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What conf/species.conf is held to: its sources' form, and what is published of
 * the temperatures at which its animals come to harm (tests/reference/species_*.tsv).
 */
#ifndef WARMSIDE_TESTS_SPECIES_CHECK_H
#define WARMSIDE_TESTS_SPECIES_CHECK_H

#include <stdbool.h>
#include <stddef.h>

#include "conf/fault.h"
#include "conf/model.h"

/* A document that may be named. */
struct document {
	char *title, *year, *weight; /* "2018" or "undated"; "A" to "C" */
};

/* A published temperature at which an animal comes to harm, °C. */
struct critical {
	char *name;             /* in species.conf */
	char *animal;           /* in the reference table */
	enum { CRITICAL_MAX, CRITICAL_MIN, CARE_LIMIT, CRITICALS } field;
	bool has_low;
	double low, high;
};

/* A published figure, °C, or % for the fields that begin with "rh_". */
struct figure {
	char *name;             /* in species.conf, or "(pet snakes)" */
	char *field;            /* as in the table */
	bool has_low, has_high;
	double low, high;
	char *title;            /* a document's, "hobby page, unreviewed" or "memory" */
	char *weight;           /* "A" to "D"; "" of memory */
	bool seen;
};

struct published {
	struct document *documents;
	size_t document_count;
	struct critical *criticals;
	size_t critical_count;
	struct figure *figures;
	size_t figure_count;
};

/* The three tables of tests/reference in the source tree; ends the test when one is not
 * as its head says. */
struct published published_shipped(void);
void published_clear(struct published *published);

/* The text of conf/species.conf in the source tree; malloc'ed, the caller frees. */
char *shipped_species(void);

/* Splits a line at its tabs, in place; returns how many fields there are, the first
 * `most` of them in fields[]. */
size_t split_tabs(char *line, char *fields[], size_t most);

/* "critical_max", "critical_min", "care_limit" */
const char *critical_word(int field);

/* Adds a fault, with the species' name, for each thing that is not as it should be:
 *   - every key of every rule has a source, each of which is "memory", "common
 *     practice, no source", "hobby page, unreviewed" or a document of the table with
 *     its year and weight;
 *   - bands of day and night lie inside the limits, and limits are there: of every
 *     temperature, and of every humidity but that of a humid hide;
 *   - what claims a document, a hobby page or memory is a figure of it (species_figures.c);
 *   - limits of the air keep 2 °C from critical maximum and minimum, and pass no care
 *     limit; those of a hot spot lie below the critical maximum, and there are none where
 *     the band does not;
 *   - no value passes the ceilings and floors of species_bounds.c;
 *   - seasons have no dates, and hold to all of this but the critical minimum; winter rest
 *     has a word on the temperature of every place and on the humidity of the cool side;
 *   - humidity is judged at the cool side, in a humid hide or at eggs only. */
void species_check(const struct conf *conf, const struct published *published,
		   struct faults *faults);

#endif
