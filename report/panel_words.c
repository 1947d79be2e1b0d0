/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What is wanted of a series in a window, in words; see graph.h.
 */
#include "report/graph.h"

#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"

/* "28..32 °C", "45..60 % by day, 45..65 % by night", "no band". */
static char *band_text(const struct band_record *record, enum units units)
{
	char day[MEASURE_TEXT], night[MEASURE_TEXT];
	enum quantity quantity = record->series.quantity;

	if (!record->has_band)
		return must_copy("no band");
	show_range(record->day, quantity, units, day);
	show_range(record->night, quantity, units, night);
	return record->day.low == record->night.low && record->day.high == record->night.high
		       ? must_copy(day)
		       : must_print("%s by day, %s by night", day, night);
}

static char *limits_text(const struct band_record *record, enum units units)
{
	char limits[MEASURE_TEXT];

	return must_copy(record->has_limits ? show_range(record->limits, record->series.quantity,
							  units, limits)
					    : "no limits");
}

/* "wanted 24..28 °C at the end, 28..32 °C at the beginning"; takes both texts apart. */
static char *moved_text(const char *word, char *last, char *first, bool same, bool brief)
{
	char *text = same    ? must_print("%s%s at both ends, moved in between", word, last)
		     : brief ? must_print("%s%s at the end", word, last)
			     : must_print("%s%s at the end, %s at the beginning", word, last, first);

	free(last);
	free(first);
	return text;
}

static char *steady_text(const char *word, char *last)
{
	char *text = must_print("%s%s", word, last);

	free(last);
	return text;
}

/* Both parts of what is wanted, each at the end and at the beginning where it moved. */
char *panel_wanted(const struct graph_panel *panel, enum wanted_words words, enum units units)
{
	const struct band_record *first = panel->wanted.first, *last = panel->wanted.last;
	char *wanted, *limits, *all;

	if (panel->wanted.band_moved)
		wanted = moved_text("wanted ", band_text(last, units), band_text(first, units),
				    ribbon_same_band(first, last), words == WANTED_END);
	else
		wanted = last->has_band ? steady_text("wanted ", band_text(last, units))
					: must_copy("no band is set");
	if (panel->wanted.limits_moved)
		limits = moved_text("limits ", limits_text(last, units), limits_text(first, units),
				    ribbon_same_limits(first, last), words > WANTED_ALL);
	else if (last->has_limits)
		limits = steady_text("limits ", limits_text(last, units));
	else
		return wanted;
	all = must_print("%s; %s", wanted, limits);
	free(wanted);
	free(limits);
	return all;
}
