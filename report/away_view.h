/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The answer of warmside away, before it is printed.
 */
#ifndef WARMSIDE_REPORT_AWAY_VIEW_H
#define WARMSIDE_REPORT_AWAY_VIEW_H

#include "report/gather.h"
#include "report/outlook.h"

struct away_view {
	const struct request *request;
	struct outlook_base base;
	struct outlook *list;   /* worst first */
	size_t count;
	struct standing standing;
	struct gathered gathered;
};

/* When somebody must be there, s since the epoch; of AWAY_NEEDS. */
double away_needed_at(const struct away_view *view, const struct outlook *outlook);

/* "too little of the past is known", ...; NULL of GAP_NONE. */
const char *gap_phrase(enum outlook_gap gap);

/* As text for people; away_text.c. */
void away_print_text(const struct away_view *view);

/* "T1, T2 and T4": the first `count` of the list; malloc'ed, the caller frees. */
char *away_names(const struct outlook *const *list, size_t count);

/* What all of it stands on; away_basis.c. */
void away_print_basis(const struct away_view *view);

/* What a power cut would do; away_cut.c. */
void away_print_cuts(const struct away_view *view);

#endif
