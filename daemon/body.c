/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Messages as webhooks want them; see body.h.
 */
#include "daemon/body.h"

#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/placeholder.h"

enum { BODY_VERSION = 1 }; /* of the JSON body; grows when a reader would misread it */

static char *json_body(const struct message *message)
{
	char time[MEASURE_TEXT];
	json_t *data = message->data ? json_copy((json_t *)message->data) : json_object();

	json_object_set_new(data, "title", json_string(message->title));
	json_object_set_new(data, "text", json_string(message->text));
	json_t *body = json_pack("{s:s,s:i,s:s,s:o}", "type", message->type, "version",
				 BODY_VERSION, "timestamp", show_instant_utc(message->time, time),
				 "data", data);
	char *dump = json_dumps(body, JSON_COMPACT | JSON_REAL_PRECISION(12));

	json_decref(body);
	return dump ? dump : must_copy("{}");
}

static char *keepers_headers(const struct webhook *webhook, const char *const values[FIELDS])
{
	char *headers = NULL;

	for (size_t i = 0; i < webhook->header_count; i++) {
		char *line = placeholder_fill(webhook->headers[i], values, ESCAPE_HEADER);
		char *longer = must_print("%s%s\n", headers ? headers : "", line);

		free(line);
		free(headers);
		headers = longer;
	}
	return headers;
}

void body_write(const struct webhook *webhook, const struct message *message, struct outgoing *out)
{
	const char *const values[FIELDS] = {
		[FIELD_TITLE] = message->title,
		[FIELD_TEXT] = message->text,
		[FIELD_PRIORITY] = priority_word(message->priority),
		[FIELD_ENCLOSURE] = message->enclosure,
		[FIELD_ID] = message->id,
	};

	out->title = must_copy(message->title);
	out->headers = keepers_headers(webhook, values);
	if (webhook->body == BODY_TEMPLATE) {
		out->content_type = must_copy(webhook->content_type);
		out->body = placeholder_fill(webhook->template, values,
					     escaping_for(webhook->content_type));
	} else if (webhook->body == BODY_TEXT) {
		out->content_type = must_copy("text/plain; charset=utf-8");
		out->body = must_print("%s\n\n%s", message->title, message->text);
	} else {
		out->content_type = must_copy("application/json");
		out->body = json_body(message);
	}
}
