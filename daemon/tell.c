/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * From event to alert log and outbox; see tell.h.
 */
#include "daemon/tell.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include "conf/layout.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "daemon/alert.h"
#include "daemon/alertfile.h"
#include "daemon/files.h"
#include "daemon/log.h"
#include "daemon/outbox.h"

bool teller_open(struct teller *teller, const struct conf *conf, bool post)
{
	char *log = state_path(conf->state, ALERTS_FILE);

	*teller = (struct teller){ .conf = conf, .post = post };
	teller->outbox = state_path(conf->state, OUTBOX_FOLDER);
	teller->log = alertfile_open(log);
	bool good = teller->log >= 0;

	if (!good)
		log_errno("%s cannot be opened", log);
	if (!folder_make(teller->outbox, 0750)) {
		log_errno("%s cannot be made", teller->outbox);
		good = false;
	}
	free(log);
	return good;
}

void teller_close(struct teller *teller)
{
	if (teller->log >= 0)
		close(teller->log);
	free(teller->outbox);
	unsaved_clear(&teller->unsaved);
	*teller = (struct teller){ .log = -1 };
}

/* Acknowledging, shelving and delivery are logged, not posted. */
static bool is_posted(enum event event)
{
	return event == RAISED || event == WORSENED || event == REMINDED || event == TESTED ||
	       event == CLEARED;
}

/* Says once that things wait in memory, and once that they do no more. */
static void note_unsaved(struct teller *teller)
{
	bool waiting = teller->unsaved.record_count + teller->unsaved.message_count > 0;

	if (!log_changed(&teller->unsaved_state, waiting))
		return;
	if (waiting)
		log_errno("the alert log or the outbox cannot be written; alerts wait in memory");
	else
		log_info("the alert log and the outbox are written again");
}

static void post(struct teller *teller, const struct alert_record *record, const char *title,
		 const char *text)
{
	for (size_t i = 0; i < teller->conf->webhook_count; i++) {
		const struct webhook *webhook = &teller->conf->webhooks[i];
		struct outgoing outgoing = {
			.created = record->time,
			.number = teller->told,
			.content_type = must_copy(message_content_type(webhook->body)),
			.body = message_body(webhook->body, record, title, text),
		};

		memcpy(outgoing.id, record->message, sizeof outgoing.id);
		memcpy(outgoing.alert, record->id, sizeof outgoing.alert);
		snprintf(outgoing.webhook, sizeof outgoing.webhook, "%s", webhook->name);
		/* Behind others that wait, so that the order stays. */
		if (teller->unsaved.message_count == 0 &&
		    outbox_add(teller->outbox, &outgoing))
			outgoing_clear(&outgoing);
		else
			unsaved_message(&teller->unsaved, &outgoing);
	}
	note_unsaved(teller);
}

static void write_log(struct teller *teller, const struct alert_record *record)
{
	if (teller->unsaved.record_count > 0 || !alertfile_append(teller->log, record))
		unsaved_record(&teller->unsaved, record);
	note_unsaved(teller);
}

bool teller_retry(struct teller *teller)
{
	bool more = unsaved_retry(&teller->unsaved, teller->log, teller->outbox);

	note_unsaved(teller);
	return more;
}

void teller_tell(struct teller *teller, struct alert_record *record,
		 const struct message_context *context)
{
	bool posted = is_posted(record->event) && !context->quiet;
	char *title = message_title(record, context);
	char *text = message_text(record, context);
	char time[MEASURE_TEXT];

	if (posted && teller->post && teller->conf->webhook_count > 0)
		alert_new_id("msg_", record->message);
	write_log(teller, record);
	if (posted && teller->post) {
		log_info("%s: %s", event_word(record->event), title);
		post(teller, record, title, text);
	} else if (posted) {
		printf("%s  would send: %s\n", show_instant_local(record->time, time), title);
	}
	teller->told += posted;
	free(title);
	free(text);
}

void teller_delivered(struct teller *teller, const struct courier_result *result, double now)
{
	struct alert_record record = { .time = now, .event = DELIVERED };

	memcpy(record.id, result->alert, sizeof record.id);
	memcpy(record.message, result->message, sizeof record.message);
	log_info("webhook \"%s\" took message %s", result->webhook, result->message);
	write_log(teller, &record);
}
