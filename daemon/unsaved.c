/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What the disk would not take; see unsaved.h.
 */
#include "daemon/unsaved.h"

#include <stdlib.h>
#include <string.h>

#include "conf/memory.h"
#include "daemon/alertfile.h"

void unsaved_clear(struct unsaved *unsaved)
{
	for (size_t i = 0; i < unsaved->message_count; i++)
		outgoing_clear(&unsaved->messages[i]);
	free(unsaved->messages);
	free(unsaved->records);
	*unsaved = (struct unsaved){ 0 };
}

/* Takes the first `count` of the records or messages out. */
static void records_done(struct unsaved *unsaved, size_t count)
{
	unsaved->record_count -= count;
	memmove(unsaved->records, unsaved->records + count,
		unsaved->record_count * sizeof *unsaved->records);
}

static void messages_done(struct unsaved *unsaved, size_t count)
{
	for (size_t i = 0; i < count; i++)
		outgoing_clear(&unsaved->messages[i]);
	unsaved->message_count -= count;
	memmove(unsaved->messages, unsaved->messages + count,
		unsaved->message_count * sizeof *unsaved->messages);
}

void unsaved_record(struct unsaved *unsaved, const struct alert_record *record)
{
	if (unsaved->record_count == UNSAVED_MOST) {
		records_done(unsaved, 1);
		unsaved->dropped++;
	}
	unsaved->records = must_resize(unsaved->records, unsaved->record_count + 1,
				       sizeof *unsaved->records);
	unsaved->records[unsaved->record_count++] = *record;
}

void unsaved_message(struct unsaved *unsaved, struct outgoing *message)
{
	if (unsaved->message_count == UNSAVED_MOST) {
		messages_done(unsaved, 1);
		unsaved->dropped++;
	}
	unsaved->messages = must_resize(unsaved->messages, unsaved->message_count + 1,
					sizeof *unsaved->messages);
	unsaved->messages[unsaved->message_count++] = *message;
}

bool unsaved_retry(struct unsaved *unsaved, int log, const char *folder)
{
	size_t records = 0, messages = 0;

	while (records < unsaved->record_count &&
	       alertfile_append(log, &unsaved->records[records]))
		records++;
	while (messages < unsaved->message_count &&
	       outbox_add(folder, &unsaved->messages[messages]))
		messages++;
	if (records)
		records_done(unsaved, records);
	if (messages)
		messages_done(unsaved, messages);
	return messages > 0;
}
