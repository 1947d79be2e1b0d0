/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Messages as files; see outbox.h.
 */
#include "daemon/outbox.h"

#include <dirent.h>
#include <errno.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

#include <jansson.h>

#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/files.h"
#include "daemon/log.h"

enum { MESSAGE_CEILING = 64 * 1024 }; /* bytes of one outbox file */

static const char ending[] = ".json";

void outgoing_clear(struct outgoing *outgoing)
{
	free(outgoing->content_type);
	free(outgoing->body);
	free(outgoing->headers);
	free(outgoing->title);
	free(outgoing->parts);
	outgoing->content_type = outgoing->body = outgoing->headers = outgoing->title = NULL;
	outgoing->parts = NULL;
}

bool outbox_add(const char *folder, const struct outgoing *outgoing)
{
	json_t *object = json_pack("{s:s,s:s,s:s,s:f,s:s,s:s}", "id", outgoing->id, "alert",
				   outgoing->alert, "webhook", outgoing->webhook, "created",
				   outgoing->created, "content_type", outgoing->content_type,
				   "body", outgoing->body);
	char *text = json_dumps(object, JSON_COMPACT);
	char *path = must_print("%s/%013.0f.%06lu-%s-%s%s", folder,
				floor(outgoing->created * 1000), outgoing->number, outgoing->id,
				outgoing->webhook, ending);
	bool good = text && file_replace(path, text, strlen(text), true);
	int error = errno;

	free(path);
	free(text);
	json_decref(object);
	errno = error;
	return good;
}

static int is_message(const struct dirent *entry)
{
	size_t length = strlen(entry->d_name);

	return length > sizeof ending &&
	       strcmp(entry->d_name + length - (sizeof ending - 1), ending) == 0;
}

/* alphasort() follows the locale; names are to follow time. */
static int by_name(const struct dirent **a, const struct dirent **b)
{
	return strcmp((*a)->d_name, (*b)->d_name);
}

char **outbox_list(const char *folder, size_t *count)
{
	struct dirent **entries = NULL;
	int found = scandir(folder, &entries, is_message, by_name);

	*count = found > 0 ? (size_t)found : 0;
	if (found < 0)
		return NULL;
	char **names = must_calloc(*count, sizeof *names);

	for (size_t i = 0; i < *count; i++) {
		names[i] = must_copy(entries[i]->d_name);
		free(entries[i]);
	}
	free(entries);
	return names;
}

void outbox_list_free(char **names, size_t count)
{
	for (size_t i = 0; i < count; i++)
		free(names[i]);
	free(names);
}

const char *outbox_webhook(const char *name, size_t *length)
{
	/* <milliseconds>.<number>-<id>-<webhook>.json: ids hold no dash, webhooks may. */
	const char *id = strchr(name, '-');
	const char *webhook = id ? strchr(id + 1, '-') : NULL;
	size_t rest = webhook ? strlen(webhook + 1) : 0;

	if (rest < sizeof ending)
		return NULL;
	*length = rest - (sizeof ending - 1);
	return webhook + 1;
}

static bool take(const json_t *object, const char *key, char *field, size_t size)
{
	const char *text = json_string_value(json_object_get(object, key));

	if (!text || strlen(text) >= size)
		return false;
	strncpy(field, text, size);
	return true;
}

static bool from_json(const json_t *object, struct outgoing *out)
{
	const char *type = json_string_value(json_object_get(object, "content_type"));
	const char *body = json_string_value(json_object_get(object, "body"));

	if (!type || !body || !take(object, "id", out->id, sizeof out->id) ||
	    !take(object, "alert", out->alert, sizeof out->alert) ||
	    !take(object, "webhook", out->webhook, sizeof out->webhook))
		return false;
	out->created = json_number_value(json_object_get(object, "created"));
	out->content_type = must_copy(type);
	out->body = must_copy(body);
	return true;
}

bool outbox_read(const char *folder, const char *name, struct outgoing *out)
{
	char *path = must_print("%s/%s", folder, name);
	size_t size;
	char *text = file_read(path, MESSAGE_CEILING, &size);
	int error = errno;
	bool good = false;

	memset(out, 0, sizeof *out);
	if (text) {
		json_t *object = json_loadb(text, size, 0, NULL);

		good = from_json(object, out);
		json_decref(object);
		error = 0;
	}
	if (error == EFBIG || error == EISDIR)
		error = 0; /* whatever it is, no message of ours */
	free(text);
	free(path);
	errno = error;
	return good;
}

bool outbox_remove(const char *folder, const char *name)
{
	char *path = must_print("%s/%s", folder, name);

	bool gone = unlink(path) == 0 || errno == ENOENT;

	if (!gone)
		log_errno("%s cannot be taken out of the outbox", name);
	free(path);
	return gone;
}
