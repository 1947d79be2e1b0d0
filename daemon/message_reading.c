/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A value and what is wanted of it, in sentences; see message.h.
 */
#include "daemon/message.h"

#include "conf/band.h"
#include "conf/computed.h"
#include "conf/measure.h"
#include "conf/season.h"
#include "conf/words.h"

/* ", computed from the air of the cool side" */
static void print_origin(FILE *out, const struct alert_record *record,
			 const struct message_context *context)
{
	enum place source;

	if (record->computed && context->enclosure &&
	    computed_source(context->conf, context->enclosure, record->place, &source))
		fprintf(out, ", computed from the air of the %s", place_phrase(source));
}

/* In force when it happened. */
static const struct rule *rule_of(const struct alert_record *record,
				  const struct message_context *context, struct rule *room)
{
	struct daypart_cache cache = { 0 };

	return rule_at(&context->enclosure->places[record->place].rules[record->quantity],
		       &context->conf->day, &cache, record->time, room);
}

static void print_season(FILE *out, const struct alert_record *record,
			 const struct message_context *context)
{
	int date = daypart_at(&context->conf->day, record->time).date;
	const struct season *season = season_moving(context->enclosure, record->place,
						    record->quantity, date);

	if (season)
		fprintf(out, " in its %s", season->name);
}

/* ", wanted 8..13 °C in its brumation, limits 4..18 °C" */
static void print_wanted(FILE *out, const struct alert_record *record,
			 const struct message_context *context)
{
	enum units units = context->conf->units;
	const struct rule *rule;
	char text[MEASURE_TEXT];
	struct rule room;

	if (context->has_band)
		fprintf(out, ", wanted %s", show_range(context->band, record->quantity, units, text));
	if (!context->enclosure)
		return;
	if (context->has_band)
		print_season(out, record, context);
	rule = rule_of(record, context, &room);
	if (!rule->has_limits)
		return;
	fprintf(out, ", limits %s", show_range(rule->limits, record->quantity, units, text));
	if (!context->has_band)
		print_season(out, record, context);
}

void reading_print(FILE *out, const struct alert_record *record,
		   const struct message_context *context)
{
	enum units units = context->conf->units;
	char text[MEASURE_TEXT];

	fprintf(out, ": %s %s now", quantity_word(record->quantity),
		record->has_value ? show_value(record->value, record->quantity, units, text)
				  : "not known");
	print_origin(out, record, context);
	print_wanted(out, record, context);
	fputs(".\n", out);
	if (record->condition == RUNAWAY && record->event != CLEARED)
		fputs("If it goes on as in the last ten minutes, it passes a limit within a quarter "
		      "of an hour.\n", out);
	if (context->by_allowance && context->enclosure && record->event != CLEARED) {
		struct rule room;
		const struct rule *rule = rule_of(record, context, &room);

		fprintf(out, "Within 24 hours it was outside its band for %s altogether.\n",
			show_duration(rule->daily, text));
	}
}
