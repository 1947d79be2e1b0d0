/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Hours, rates and trends in words; see drying_view.h.
 */
#include "report/drying_view.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"

static const double ROOM_MATTERS = 0.15; /* of the room's vapour, in which it dries otherwise */
static const double FLOOR_MATTERS = 2;  /* %: by which the room's air moves it */
static const double DAY = 86400, WEEK = 7 * DAY; /* s */

bool drying_has_rate(const struct drying_entry *entry)
{
	return entry->summary.has_rate && entry->dryings.known >= DAY;
}

bool drying_floor_moves(const struct drying_summary *summary)
{
	return summary->floor_is_moved &&
	       fabs(summary->floor_humidity - summary->floor_median) > FLOOR_MATTERS;
}

/* Two figures say all that is known. */
static int decimals(double value)
{
	return fabs(value) < 9.95 ? 1 : 0;
}

char *drying_hours(bool known, double hours, char buf[DRYING_WORDS])
{
	if (!known)
		snprintf(buf, DRYING_WORDS, "–");
	else if (isinf(hours))
		snprintf(buf, DRYING_WORDS, "never");
	else
		snprintf(buf, DRYING_WORDS, "%.*f h", decimals(hours), hours);
	return buf;
}

char *drying_hours_range(bool known, double low, double high, char buf[DRYING_WORDS])
{
	if (!known)
		snprintf(buf, DRYING_WORDS, "–");
	else if (isinf(low))
		snprintf(buf, DRYING_WORDS, "never");
	else if (isinf(high))
		snprintf(buf, DRYING_WORDS, "%.*f h..never", decimals(low), low);
	else
		snprintf(buf, DRYING_WORDS, "%.*f..%.*f h", decimals(low), low, decimals(high),
			 high);
	return buf;
}

char *drying_rate(bool known, double rate, char buf[DRYING_WORDS])
{
	if (known)
		snprintf(buf, DRYING_WORDS, "%.*f", rate < 0.995 ? 2 : decimals(rate), rate);
	else
		snprintf(buf, DRYING_WORDS, "–");
	return buf;
}

char *drying_share_text(const struct spread *spread, const char *range)
{
	if (spread->count < SPREAD_SURE)
		return spread->count > 1 ? must_print("%s in %zu dryings", range, spread->count)
					 : must_copy("one drying");
	return must_print("80 %% of dryings: %s", range);
}

static char *weeks_text(double seconds)
{
	static const char *const words[] = { "two", "three", "four", "five", "six", "seven",
					     "eight", "nine", "ten", "eleven", "twelve" };
	size_t weeks = (size_t)fmax(round(seconds / WEEK), 2);

	if (weeks - 2 < sizeof words / sizeof *words)
		return must_print("%s weeks", words[weeks - 2]);
	return must_print("%zu weeks", weeks);
}

/* What may be the reason; malloc'ed. */
static char *reason_of(const struct drying_trend *trend)
{
	if (!trend->has_room_change)
		return must_copy("what the room's air did meanwhile is not known.");
	if (fabs(trend->room_change) >= ROOM_MATTERS)
		return must_print("the room's air became %.0f %% %s meanwhile, which may be why.",
				  fabs(trend->room_change) * 100,
				  trend->room_change < 0 ? "drier" : "moister");
	return must_copy(trend->change < 0 ? "a lid left ajar, or substrate drying out?"
					   : "a vent covered, or wetter substrate?");
}

char *drying_trend_text(const struct drying_entry *entry)
{
	const struct drying_trend *trend = &entry->summary.trend;
	char *weeks = weeks_text(trend->span), *title = enclosure_title(entry->enclosure);
	char *reason = reason_of(trend);
	char *text = must_print("%s dries %.0f %% %s than %s ago (%zu dryings): %s", title,
				fabs(trend->change) * 100, trend->change < 0 ? "quicker" : "slower",
				weeks, entry->summary.fitted, reason);

	free(reason);
	free(weeks);
	free(title);
	return text;
}
