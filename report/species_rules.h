/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rules as lines of a text: place and quantity, and below them a line a key.
 */
#ifndef WARMSIDE_REPORT_SPECIES_RULES_H
#define WARMSIDE_REPORT_SPECIES_RULES_H

#include "conf/measure.h"
#include "report/species.h"
#include "report/terminal.h"

/* "28..32 °C", "12 h"; fills buf and returns it. */
char *told_value(const struct told *told, enum source_key key, enum units units,
		 char buf[MEASURE_TEXT]);

/* True when an ordinary rule of that place and quantity is among them. */
bool telling_has(const struct telling *telling, enum place place, enum quantity quantity);

/* One more behind a list with commas, in place of it; malloc'ed, as the list. */
char *listed(char *list, const char *more);

void say_strong(const struct terminal *terminal, const char *text);

/* Those of that season, or the ordinary ones for NULL: the value, who says it where
 * that is asked, and where it comes from. */
void print_rules(const struct terminal *terminal, const struct telling *telling,
		 const char *season, enum units units, bool speakers);

/* The same with the season's name and dates before them. */
void print_season(const struct terminal *terminal, const struct telling *telling,
		  const struct season *season, enum units units, bool speakers);

#endif
