/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * webhook sections -> struct webhook; see resolve.h.  Endpoints and secrets
 * open doors: no fault ever shows one.
 */
#include "conf/resolve.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>

#include "conf/configtext.h"
#include "conf/memory.h"
#include "conf/readfile.h"

enum {
	ENDPOINT_MOST = 2000,
	/* Standard Webhooks, "Symmetric": 24 to 64 bytes, base64, after "whsec_" */
	SECRET_LEAST_BYTES = 24,
	SECRET_MOST_BYTES = 64,
};

static const char base64_digits[] =
	"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";

/* The first line of the file a "@path" names; the caller frees.  NULL, and
 * a fault, when there is none. */
static char *read_first_line(struct resolve *resolve, const struct statement *value)
{
	char *path = path_beside(resolve->path, value->text + 1);
	size_t size = 0;
	char *text = file_read(path, SECRET_BYTES, &size);
	char *why = text ? NULL : unreadable(errno, SECRET_BYTES);

	if (text)
		text[strcspn(text, "\r\n")] = '\0';
	if (!text)
		complain(resolve, value, "%s: %s %s", value->name, path, why);
	else if (*text == '\0')
		complain(resolve, value, "%s: the first line of %s is empty; it must hold the %s",
			 value->name, path, value->name);
	if (text && *text == '\0') {
		free(text);
		text = NULL;
	}
	free(why);
	free(path);
	return text;
}

/* The text of a key, read from its file when it begins with "@"; the caller
 * frees.  NULL when there is none, or none that is good. */
static char *take_hidden(struct resolve *resolve, struct section section, const char *key)
{
	const struct statement *value = section_value(section, key);

	if (!value || value->spoiled)
		return NULL;
	return *value->text == '@' ? read_first_line(resolve, value) : must_copy(value->text);
}

/* http:// or https://, a host, and no byte that an address cannot hold. */
static bool is_endpoint(const char *text)
{
	size_t scheme = strncmp(text, "https://", 8) == 0  ? 8
			: strncmp(text, "http://", 7) == 0 ? 7
							   : 0;

	if (scheme == 0 || strlen(text) > ENDPOINT_MOST || strchr("/?#:@", text[scheme]))
		return false;
	for (const char *at = text; *at != '\0'; at++)
		if (*at <= ' ' || *at > '~' || strchr("\"<>\\^`{|}", *at))
			return false;
	return true;
}

/* How many bytes the base64 text stands for; 0 when it is none. */
static size_t base64_bytes(const char *text)
{
	size_t digits = strspn(text, base64_digits);
	size_t padding = strspn(text + digits, "=");

	if (text[digits + padding] != '\0' || padding > 2 || (digits + padding) % 4 != 0)
		return 0;
	return digits * 3 / 4;
}

static bool is_secret(const char *text)
{
	size_t bytes;

	if (strncmp(text, "whsec_", 6) != 0)
		return false;
	bytes = base64_bytes(text + 6);
	return bytes >= SECRET_LEAST_BYTES && bytes <= SECRET_MOST_BYTES;
}

static void resolve_webhook(struct resolve *resolve, size_t index)
{
	static const char *const bodies[] = { "json", "text" };
	struct section section = section_at(resolve->top, "webhook", index);
	struct webhook *webhook = &resolve->conf->webhooks[index];
	size_t body = BODY_JSON;

	webhook->name = must_copy(take_name(resolve, section));
	if (has_key(resolve, section, "endpoint", "\"https://...\", or \"@file\" that holds it"))
		webhook->endpoint = take_hidden(resolve, section, "endpoint");
	if (webhook->endpoint && !is_endpoint(webhook->endpoint))
		complain(resolve, section_value(section, "endpoint"),
			 "the endpoint must be one whole address that begins with http:// or "
			 "https://");
	webhook->secret = take_hidden(resolve, section, "secret");
	if (webhook->secret && !is_secret(webhook->secret))
		complain(resolve, section_value(section, "secret"),
			 "the secret must be whsec_ and base64 behind it, of %d to %d bytes",
			 SECRET_LEAST_BYTES, SECRET_MOST_BYTES);
	take_choice(resolve, section, "body", bodies, 2, &body);
	webhook->body = (enum body)body;
}

void resolve_webhooks(struct resolve *resolve)
{
	struct conf *conf = resolve->conf;

	conf->webhook_count = section_count(resolve->top, "webhook");
	conf->webhooks = must_calloc(conf->webhook_count, sizeof *conf->webhooks);
	for (size_t i = 0; i < conf->webhook_count; i++)
		resolve_webhook(resolve, i);
}
