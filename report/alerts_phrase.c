/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Alert-log records in words; see alerts.h.
 */
#include "report/alerts.h"

#include <stdlib.h>

#include "conf/memory.h"
#include "conf/words.h"
#include "report/alerts_text.h"

/* What the record's own names make clearer than a fixed phrase; NULL when
 * nothing does. */
static char *named_phrase(const struct alert_record *record)
{
	if (record->event == DELIVERED && record->webhook[0])
		return must_print("webhook \"%s\"", record->webhook);
	if (record->event == TESTED)
		return must_copy("test message, not counted");
	if (record->has_condition && record->condition == DELIVERY && record->webhook[0])
		return must_print("webhook \"%s\" takes no messages", record->webhook);
	if (alert_is_reminder(record) && record->event != CLEARED && record->has_until) {
		char *at = time_text(record->until, record->time);
		char *text = must_print("misting due: too dry about %s", at);

		free(at);
		return text;
	}
	return NULL;
}

bool alert_is_reminder(const struct alert_record *record)
{
	return record->has_condition && record->condition == MISTING_DUE;
}

bool alert_is_of_danger(const struct alert_record *record)
{
	return record->has_condition &&
	       (record->condition == BELOW_LIMITS || record->condition == ABOVE_LIMITS ||
		record->condition == RUNAWAY);
}

char *alert_phrase(const struct alert_record *record)
{
	static const char *const phrases[CONDITIONS] = {
		[BELOW_BAND] = "below its band",
		[ABOVE_BAND] = "above its band",
		[BELOW_LIMITS] = "below its limits",
		[ABOVE_LIMITS] = "above its limits",
		[RUNAWAY] = "heading for its limit",
		[NO_GRADIENT] = "too little difference between warm and cool side",
		[SILENT] = "silent",
		[FROZEN] = "frozen",
		[CLOCK] = "clock not believed",
		[ARCHIVE] = "trouble with the archive",
		[DELIVERY] = "a webhook takes no messages",
		[DISK] = "the disk takes nothing",
		[UNTESTED] = "no test alert for long",
		[MISTING_DUE] = "misting due",
		[UNCALIBRATED] = "probes to be tested in salts",
	};
	char *named = named_phrase(record);

	if (named)
		return named;
	bool gradient = record->has_condition && record->condition == NO_GRADIENT;
	bool where = record->has_place && !gradient && !alert_is_reminder(record);
	const char *what = gradient || alert_is_reminder(record)
				   ? "" /* the phrase says it */
			   : record->computed ? "humidity (computed)"
			   : record->has_quantity ? quantity_word(record->quantity)
			   : where && record->has_condition ? "probe"
							    : "";
	const char *condition = record->has_condition ? phrases[record->condition] : "";

	return must_print("%s%s%s%s%s", where ? place_phrase(record->place) : "",
			  where && *what ? " " : "", what,
			  (where || *what) && *condition ? " " : "", condition);
}

char *alert_author(const struct alert_record *record)
{
	return must_print("%s%s%s", record->by, record->by[0] && record->note[0] ? ": " : "",
			  record->note);
}
