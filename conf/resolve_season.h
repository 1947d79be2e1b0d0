/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * season sections of species and enclosures -> the model.
 */
#ifndef WARMSIDE_CONF_RESOLVE_SEASON_H
#define WARMSIDE_CONF_RESOLVE_SEASON_H

#include "conf/resolve_dates.h"
#include "conf/resolve_rule.h"
#include "conf/value.h"

struct season_wishes {
	const struct statement *head;
	const char *name;
	bool own;                       /* the enclosure speaks of it */
	struct date_wishes dates;
	const char *advice[ADVICES];    /* NULL: not given */
	struct wishes wishes[PLACES][QUANTITIES];
};

/* The seasons of one species or enclosure, in the order written; the owner
 * frees the list. */
struct season_list {
	struct season_wishes *list;
	size_t count;
};

/* Reads and checks what can be checked without knowing the ordinary rules. */
void seasons_read(struct resolve *resolve, struct section section, struct season_list *out);

/* The seasons of a species, over its ordinary wishes; complains where they do
 * not go together.  Malloc'ed; conf_free frees. */
struct season *seasons_of_species(struct resolve *resolve, const struct season_list *list,
				  struct wishes base[PLACES][QUANTITIES], size_t *count);

/* Fills in the enclosure's seasons, its species' (NULL: none) overridden by its
 * own key by key, and hangs them on the rules of its places, whose wishes are
 * base. */
void seasons_of_enclosure(struct resolve *resolve, struct section section,
			  const struct season_list *species,
			  struct wishes base[PLACES][QUANTITIES], struct enclosure *enclosure);

#endif
