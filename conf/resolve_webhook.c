/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * webhook sections and the heartbeat -> the model; see resolve.h.
 */
#include "conf/resolve.h"

#include <stdlib.h>
#include <string.h>

#include "conf/alertlog.h"
#include "conf/headerline.h"
#include "conf/hidden.h"
#include "conf/memory.h"
#include "conf/placeholder.h"
#include "conf/utf8.h"

enum { BODY_BYTES = 16 * 1024 }; /* a template is at most this long */

static const double a_minute = 60, a_day = 86400;

/* "{title}, {text}, ..., or {id}", for sentences; the caller frees. */
static char *list_fields(void)
{
	char *list = must_copy("");

	for (int f = 0; f < FIELDS; f++) {
		char *longer = must_print("%s%s{%s}", list,
					  f == 0            ? ""
					  : f + 1 == FIELDS ? " or "
							    : ", ",
					  placeholder_word((enum field)f));

		free(list);
		list = longer;
	}
	return list;
}

static bool holds_field(const char *text)
{
	bool found = false;

	for (int f = 0; f < FIELDS; f++) {
		char *field = must_print("{%s}", placeholder_word((enum field)f));

		found = found || strstr(text, field);
		free(field);
	}
	return found;
}

/* UTF-8 without control characters but for line ends and tabs; size is the
 * length it should have. */
static bool is_template_text(const char *text, size_t size)
{
	if (strlen(text) != size || size > BODY_BYTES)
		return false;
	while (*text != '\0') {
		uint32_t value = utf8_take(&text);

		if (value == UTF8_BAD || value == 0x7f ||
		    (value < 0x20 && value != '\t' && value != '\n' && value != '\r'))
			return false;
	}
	return true;
}

/* Adds what is wrong with a template, and tells whether it is good.  Its text
 * may hold somebody's token: only a mistyped field is shown. */
static bool check_template(struct resolve *resolve, const struct statement *value, const char *text,
			   size_t size)
{
	enum { WORD_SHOWN = 40 };
	size_t length = 0;
	const char *unknown = placeholder_unknown(text, &length);
	char *fields = list_fields();
	bool good = false;

	if (!is_template_text(text, size))
		complain(resolve, value, "the template must be UTF-8 text of at most %d KiB",
			 BODY_BYTES / 1024);
	else if (unknown)
		complain(resolve, value, "{%.*s} in the template is no field; write %s",
			 (int)(length < WORD_SHOWN ? length : WORD_SHOWN), unknown, fields);
	else if (!holds_field(text))
		complain(resolve, value,
			 "body must be json or text, or a template that holds %s, or \"@file\" "
			 "whose content is one",
			 fields);
	else
		good = true;
	free(fields);
	return good;
}

static enum said resolve_body(struct resolve *resolve, struct section section,
			      struct webhook *webhook)
{
	const struct statement *value = section_value(section, "body");
	size_t size;
	char *text;

	if (!value)
		return ABSENT;
	if (value->spoiled)
		return FAULTY;
	if (strcmp(value->text, "json") == 0 || strcmp(value->text, "text") == 0) {
		webhook->body = *value->text == 'j' ? BODY_JSON : BODY_TEXT;
		return GIVEN;
	}
	size = strlen(value->text);
	text = *value->text == '@' ? named_text(resolve, value, BODY_BYTES, &size)
				   : must_copy(value->text);
	if (!text || !check_template(resolve, value, text, size)) {
		free(text);
		return FAULTY;
	}
	webhook->body = BODY_TEMPLATE;
	webhook->template = text;
	return GIVEN;
}

static void resolve_content_type(struct resolve *resolve, struct section section, enum said body,
				 struct webhook *webhook)
{
	const struct statement *value = section_value(section, "content_type");
	const char *type = "text/plain; charset=utf-8";
	char buf[SHOWN_TEXT];

	if (take_text(resolve, section, "content_type", HEADER_MOST, &type) == GIVEN &&
	    !is_media_type(type))
		complain(resolve, value, "%s is no media type; write one like \"application/json\"",
			 shown(value, buf));
	if (value && body != FAULTY && webhook->body != BODY_TEMPLATE)
		complain(resolve, value,
			 "content_type belongs to a template; bodies of json and text have their "
			 "own");
	if (webhook->body == BODY_TEMPLATE)
		webhook->content_type = must_copy(type);
}

/* One header line; NULL after a fault, which shows nothing of its value. */
static char *take_header(struct resolve *resolve, const struct statement *value)
{
	char *text = value->spoiled ? NULL : hidden_line(resolve, value);
	char *line = NULL, *wrong;
	size_t length;

	if (!text)
		return NULL;
	wrong = headerline_read(text, &line);
	if (wrong) {
		complain(resolve, value, "the header %s", wrong);
	} else if (placeholder_unknown(line, &length)) {
		char *fields = list_fields();

		complain(resolve, value, "a word in braces in the header is no field; write %s",
			 fields);
		free(fields);
	}
	free(wrong);
	free(text);
	return line;
}

static void resolve_headers(struct resolve *resolve, struct section section,
			    struct webhook *webhook)
{
	size_t count = section_count(section, "header");

	webhook->headers = must_calloc(count, sizeof *webhook->headers);
	for (size_t i = 0; i < count; i++) {
		char *line = take_header(resolve, section_value_at(section, "header", i));

		if (line)
			webhook->headers[webhook->header_count++] = line;
	}
}

static void resolve_webhook(struct resolve *resolve, size_t index)
{
	const char *priorities[PRIORITIES];
	struct section section = section_at(resolve->top, "webhook", index);
	struct webhook *webhook = &resolve->conf->webhooks[index];
	size_t priority = UPKEEP;
	enum said body;

	webhook->name = must_copy(take_name(resolve, section));
	webhook->endpoint = take_endpoint(resolve, section);
	webhook->secret = take_secret(resolve, section);
	for (int p = 0; p < PRIORITIES; p++)
		priorities[p] = priority_word((enum priority)p);
	take_choice(resolve, section, "priority", priorities, PRIORITIES, &priority);
	webhook->priority = (enum priority)priority;
	take_duration(resolve, section, "escalate", a_minute, a_day, &webhook->escalate);
	body = resolve_body(resolve, section, webhook);
	resolve_content_type(resolve, section, body, webhook);
	resolve_headers(resolve, section, webhook);
}

void resolve_webhooks(struct resolve *resolve)
{
	struct conf *conf = resolve->conf;
	size_t count = section_count(resolve->top, "webhook");

	conf->webhook_count = count;
	conf->webhooks = must_calloc(count, sizeof *conf->webhooks);
	for (size_t i = 0; i < count; i++)
		resolve_webhook(resolve, i);
	if (count > 0 && conf->webhooks[count - 1].escalate > 0 && !resolve->script->incomplete) {
		struct section last = section_at(resolve->top, "webhook", count - 1);

		complain(resolve, section_value(last, "escalate"),
			 "escalate hands on to the next webhook, and this is the last one; leave it "
			 "out, or write another webhook below");
	}
}

void resolve_heartbeat(struct resolve *resolve)
{
	struct heartbeat *heartbeat = &resolve->conf->heartbeat;
	struct section section;

	heartbeat->every = 5 * a_minute;
	if (section_count(resolve->top, "heartbeat") == 0)
		return;
	section = section_at(resolve->top, "heartbeat", 0);
	heartbeat->endpoint = take_endpoint(resolve, section);
	heartbeat->secret = take_secret(resolve, section);
	take_duration(resolve, section, "every", 10, a_day, &heartbeat->every);
}
