/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Texts that open doors: addresses, secrets, header lines.  They stand in the
 * configuration, or in a file that "@name" points to.  No fault shows one.
 */
#ifndef WARMSIDE_CONF_HIDDEN_H
#define WARMSIDE_CONF_HIDDEN_H

#include "conf/value.h"

/* The text of a statement, or the first line of the file its "@name" points
 * to; the caller frees.  NULL when there is none, after a fault.  A file that
 * other users may touch is a fault too, and read all the same. */
char *hidden_line(struct resolve *resolve, const struct statement *value);

/* All of the file that "@name" points to, at most ceiling bytes, with a zero
 * behind it; the caller frees.  NULL after a fault.  It may be anybody's to read. */
char *named_text(struct resolve *resolve, const struct statement *value, size_t ceiling,
		 size_t *size);

/* The key endpoint of a section, which must be there, and the key secret,
 * which need not; checked, the caller frees.  NULL when there is none. */
char *take_endpoint(struct resolve *resolve, struct section section);
char *take_secret(struct resolve *resolve, struct section section);

#endif
