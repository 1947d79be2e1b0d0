/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The text of a drafted configuration.  Prints, and knows no port.
 */
#ifndef WARMSIDE_DAEMON_DRAFT_TEXT_H
#define WARMSIDE_DAEMON_DRAFT_TEXT_H

#include <stdio.h>

#include "daemon/search.h"

struct drafted_port {
	char *name;             /* as `port` of a bus takes it */
	char *trouble;          /* why nothing or not all is known of it; NULL: none */
	struct search search;
};

struct draft {
	struct drafted_port *ports;
	size_t count;
	char *species;          /* what to include, or NULL */
};

/* How many probes the draft will hold. */
size_t draft_probes(const struct draft *draft);

/* path is the draft's own file, for the commands it names; NULL when unknown. */
void draft_print(FILE *out, const struct draft *draft, const char *path);

#endif
