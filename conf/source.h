/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a rule's `source` says of each of its keys:
 *
 *     day, night: memory; limits: upper from TITLE, 2018, A, lower memory
 *
 * Parts stand between semicolons.  A part may begin with the keys it is of and a
 * colon; one at the beginning that names none is of every key, and one further on
 * belongs to the part before it.  Pure.
 */
#ifndef WARMSIDE_CONF_SOURCE_H
#define WARMSIDE_CONF_SOURCE_H

enum source_key {
	SOURCE_DAY, SOURCE_NIGHT, SOURCE_LIMITS, SOURCE_PATIENCE, SOURCE_DAILY,
	SOURCE_LIMITS_PATIENCE,
	SOURCE_KEYS
};

/* "day", "night", "limits", "patience", "daily", "limits_patience" */
const char *source_word(enum source_key key);

/* What the source says of the key, without the keys' names; what it says of the day
 * where it has no word on the night.  malloc'ed; NULL when it says nothing, or when
 * there is no source. */
char *source_part(const char *source, enum source_key key);

#endif
