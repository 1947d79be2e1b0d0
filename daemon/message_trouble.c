/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The tool's own trouble in sentences; see message.h.
 */
#include "daemon/message.h"

#include "conf/measure.h"
#include "conf/memory.h"

enum { NAMED = 12 }; /* at most */

static bool is_due(const struct probe *probe, const struct alert_record *record)
{
	return probe->has_calibrated && record->time >= probe->calibration_due;
}

static char *calibration_predicate(const struct alert_record *record,
				   const struct message_context *context)
{
	const char *name = NULL;
	size_t count = 0;

	if (record->event == CLEARED)
		return must_copy(": no probe is due for a test in salts any more");
	for (size_t p = 0; p < context->conf->probe_count; p++)
		if (is_due(&context->conf->probes[p], record)) {
			name = context->conf->probes[p].name;
			count++;
		}
	return count == 1 ? must_print(": probe %s is due for its yearly test in salts", name)
			  : must_print(": %zu probes are due for their yearly test in salts", count);
}

static void calibration_print(FILE *out, const struct alert_record *record,
			      const struct message_context *context)
{
	size_t count = 0;

	if (record->event == CLEARED) {
		fputs(": no probe is due for a test in salts any more.\n", out);
		return;
	}
	fputs(": probes of humidity drift, and it is a year since the last test of", out);
	for (size_t p = 0; p < context->conf->probe_count; p++) {
		const struct probe *probe = &context->conf->probes[p];
		char day[MEASURE_TEXT];

		if (is_due(probe, record) && count++ < NAMED)
			fprintf(out, "%s %s (%.10s)", count > 1 ? "," : "", probe->name,
				show_instant_local(probe->calibrated, day));
	}
	if (count > NAMED)
		fprintf(out, " and %zu more", count - NAMED);
	fputs(". Lay them in a jar over a saturated salt (warmside salt), then write the new day as "
	      "calibrated in the configuration.\n", out);
}

char *trouble_predicate(const struct alert_record *record,
			const struct message_context *context)
{
	bool over = record->event == CLEARED;

	switch (record->condition) {
	case CLOCK:
		return must_copy(over ? ": the clock has caught up"
				      : ": clock set back, no records until it catches up");
	case DELIVERY:
		return must_print(over ? ": webhook %s takes messages again"
				       : ": webhook %s does not take its messages",
				  record->webhook);
	case DISK:
		return must_copy(over ? ": the state folder is written again"
				      : ": the state folder was damaged or takes nothing");
	case UNTESTED:
		return must_copy(over ? ": a test alert was made"
				      : ": nobody has made a test alert for long");
	case UNCALIBRATED:
		return calibration_predicate(record, context);
	default:
		if (context->enclosure)
			return must_copy(": archive damaged, a new one has begun");
		return must_copy(over ? ": archives are written again"
				      : ": archives cannot be written");
	}
}

void trouble_print(FILE *out, const struct alert_record *record,
		   const struct message_context *context)
{
	bool over = record->event == CLEARED;

	switch (record->condition) {
	case CLOCK:
		fputs(": this computer's clock was set back. What is archived cannot be "
		      "archived again, so readings are dropped until it has caught up.\n", out);
		break;
	case DELIVERY:
		fprintf(out, over ? ": webhook \"%s\" takes messages again.\n"
				  : ": webhook \"%s\" does not take its messages. They wait in the "
				    "outbox. Is its address right, and its receiver running?\n",
			record->webhook);
		break;
	case DISK:
		fputs(over ? ": the state folder is written again.\n"
			   : ": the state folder or a part of it was damaged or taken away, or takes nothing. "
			     "Messages go out from memory and the watch goes on, but a restart "
			     "would lose what is not written. Is the disk full, read-only or "
			     "unplugged? What was removed is made anew, without what it held.\n",
		      out);
		break;
	case UNTESTED:
		fputs(over ? ": a test alert was made.\n"
			   : ": nobody knows whether alerts still arrive. Make a test: warmsided "
			     "--test-alert\n", out);
		break;
	case UNCALIBRATED:
		calibration_print(out, record, context);
		break;
	default:
		fputs(context->enclosure
			      ? ": its archive could not be read and was set aside beside the new "
				"one; it is not lost, and the watch goes on.\n"
			      : ": readings wait in memory until their archives can be written. Is "
				"the disk full? The watch and the messages go on.\n", out);
	}
}
