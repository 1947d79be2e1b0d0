/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where in the shipped species a fault is, and the parts of tests/species_check.h that
 * find them.
 */
#ifndef WARMSIDE_TESTS_SPECIES_SPOT_H
#define WARMSIDE_TESTS_SPECIES_SPOT_H

#include "conf/source.h"
#include "tests/species_check.h"

/* Where the faults of a rule are said to be. */
struct spot {
	const struct published *published;
	const struct species *species;
	const char *season;     /* NULL: the ordinary rule */
	enum place place;
	enum quantity quantity;
	struct faults *faults;
};

void spot_blame(const struct spot *spot, const char *format, ...)
	__attribute__((format(printf, 2, 3)));

/* One thing a source says: which ends are from where. */
struct claim {
	bool low, high;
	const char *title;      /* as in species_figures.tsv; NULL: common practice */
	bool widened;           /* a figure and by how much the edge lies beside it, as the note says */
	double of, by;
};

/* Takes [lowest|highest|lower|upper [from]] FORM [(NOTE)] off the text; false when there
 * is none. */
bool claim_take(const struct published *published, const char **text, struct claim *out);

/* Goes behind the words when the text begins with them. */
bool claim_pass(const char **text, const char *words);

/* Holds what a rule's source claims against the published figures: the edges that are
 * from a document, a hobby page or memory are a figure of it for that species, rounded by
 * 0.5 °C at most, and limits rounded inward by less than 1 °C; and an end of the night
 * that nobody claims is the day's. */
void figures_check(const struct spot *spot, const struct rule *rule, const char *source,
		   enum source_key key);

/* The hottest published surface or air of the species, °C; false when there is none. */
bool figures_hottest(const struct spot *spot, double *hottest);

/* What no animal's rule may pass, whatever its sources; see species_bounds.c. */
void bounds_check(const struct spot *spot, const struct rule *rule);

#endif
