/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The tool's own trouble in sentences; see message.h.
 */
#include "daemon/message.h"

#include "conf/memory.h"

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
				      : ": the state folder cannot be written");
	case UNTESTED:
		return must_copy(over ? ": a test alert was made"
				      : ": nobody has made a test alert for long");
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
		fputs(over ? ": the alert log and the outbox are written again.\n"
			   : ": the alert log or the outbox cannot be written. Messages go out from "
			     "memory and the watch goes on, but a restart would lose what is not "
			     "written. Is the disk full or read-only?\n", out);
		break;
	case UNTESTED:
		fputs(over ? ": a test alert was made.\n"
			   : ": nobody knows whether alerts still arrive. Make a test: warmsided "
			     "--test-alert\n", out);
		break;
	default:
		fputs(context->enclosure
			      ? ": its archive could not be read and was set aside beside the new "
				"one; it is not lost, and the watch goes on.\n"
			      : ": readings wait in memory until their archives can be written. Is "
				"the disk full? The watch and the messages go on.\n", out);
	}
}
