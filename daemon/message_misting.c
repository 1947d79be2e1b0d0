/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * That a misting will be due, in sentences; see message.h.
 */
#include "daemon/message.h"

#include <math.h>
#include <time.h>

#include "conf/advice.h"
#include "conf/daypart.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/season.h"

/* To ten minutes: more is not known. */
static double about(const struct alert_record *record)
{
	return round(record->until / 600) * 600;
}

char *misting_predicate(const struct alert_record *record)
{
	time_t then = (time_t)about(record);
	struct tm day;
	char at[MEASURE_TEXT];

	if (record->event == CLEARED)
		return must_copy(" can wait");
	localtime_r(&then, &day);
	/* It may be read a day later. */
	strftime(at, sizeof at, "%a %H:%M", &day);
	return must_print(" will be too dry about %s", at);
}

void misting_print(FILE *out, const struct alert_record *record,
		   const struct message_context *context)
{
	int date = daypart_at(&context->conf->day, record->time).date;
	char at[MEASURE_TEXT], edge[MEASURE_TEXT];

	if (record->event == CLEARED)
		return;
	fprintf(out,
		"If nobody mists, it will be below %s about %s: so it has dried after earlier "
		"mistings. This is told once.\n",
		show_value(context->edge, HUMIDITY, context->conf->units, edge),
		show_instant_local(about(record), at));
	/* Nobody is to be sent there with a spray bottle. */
	if (context->enclosure && enclosure_rests(context->enclosure, date))
		fprintf(out, "%s\n",
			advice_text(&(struct advised){ .enclosure = context->enclosure, .date = date },
				    ADVICE_DRY));
}
