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

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/readfile.h"
#include "daemon/files.h"

static const char ending[] = ".json";

enum { CREATED_MOST = 24 }; /* characters of "<milliseconds>.<number>" */

void outgoing_clear(struct outgoing *outgoing)
{
	for (size_t i = 0; i < outgoing->replaced_count; i++)
		free(outgoing->replaced[i].title);
	free(outgoing->replaced);
	free(outgoing->content_type);
	free(outgoing->body);
	free(outgoing->headers);
	free(outgoing->title);
	free(outgoing->parts);
	outgoing->content_type = outgoing->body = outgoing->headers = outgoing->title = NULL;
	outgoing->parts = NULL;
	outgoing->replaced = NULL;
	outgoing->part_count = outgoing->replaced_count = 0;
}

/* ---- as text ---------------------------------------------------------------- */

static json_t *parts_to_json(const struct outgoing *outgoing)
{
	json_t *parts = json_array();

	for (size_t i = 0; i < outgoing->part_count; i++)
		json_array_append_new(parts, json_pack("{s:s,s:b}", "alert",
						       outgoing->parts[i].alert, "cleared",
						       outgoing->parts[i].cleared));
	return parts;
}

static json_t *replaced_to_json(const struct outgoing *outgoing)
{
	json_t *list = json_array();

	for (size_t i = 0; i < outgoing->replaced_count; i++) {
		const struct outgoing_replaced *one = &outgoing->replaced[i];

		json_array_append_new(list, json_pack("{s:s,s:s,s:f,s:s}", "id", one->id, "alert",
						      one->alert, "created", one->created, "title",
						      one->title ? one->title : ""));
	}
	return list;
}

char *outgoing_text(const struct outgoing *outgoing)
{
	json_t *object = json_pack("{s:s,s:s,s:s,s:f,s:I,s:s,s:s,s:s*,s:s*,s:o}", "id",
				   outgoing->id, "alert", outgoing->alert, "webhook",
				   outgoing->webhook, "created", outgoing->created, "number",
				   (json_int_t)outgoing->number, "content_type",
				   outgoing->content_type, "body", outgoing->body, "headers",
				   outgoing->headers, "title", outgoing->title, "parts",
				   parts_to_json(outgoing));

	if (outgoing->replaced_count > 0)
		json_object_set_new(object, "replaces", replaced_to_json(outgoing));
	char *text = json_dumps(object, JSON_COMPACT);

	json_decref(object);
	return text;
}

static bool take(const json_t *object, const char *key, char *field, size_t size)
{
	const char *text = json_string_value(json_object_get(object, key));

	if (!text || strlen(text) >= size)
		return false;
	strncpy(field, text, size);
	return true;
}

/* NULL when it is absent. */
static char *take_copy(const json_t *object, const char *key)
{
	const char *text = json_string_value(json_object_get(object, key));

	return text ? must_copy(text) : NULL;
}

static bool take_parts(const json_t *list, struct outgoing *out)
{
	out->part_count = json_array_size(list);
	out->parts = must_calloc(out->part_count, sizeof *out->parts);
	for (size_t i = 0; i < out->part_count; i++) {
		const json_t *part = json_array_get(list, i);

		if (!take(part, "alert", out->parts[i].alert, sizeof out->parts[i].alert))
			return false;
		out->parts[i].cleared = json_is_true(json_object_get(part, "cleared"));
	}
	return true;
}

static bool take_replaced(const json_t *list, struct outgoing *out)
{
	out->replaced_count = json_array_size(list);
	out->replaced = must_calloc(out->replaced_count, sizeof *out->replaced);
	for (size_t i = 0; i < out->replaced_count; i++) {
		struct outgoing_replaced *one = &out->replaced[i];
		const json_t *from = json_array_get(list, i);

		if (!take(from, "id", one->id, sizeof one->id) ||
		    !take(from, "alert", one->alert, sizeof one->alert))
			return false;
		one->created = json_number_value(json_object_get(from, "created"));
		one->title = take_copy(from, "title");
		if (!is_instant(one->created))
			return false;
	}
	return true;
}

static bool from_json(const json_t *object, struct outgoing *out)
{
	out->content_type = take_copy(object, "content_type");
	out->body = take_copy(object, "body");
	out->headers = take_copy(object, "headers");
	out->title = take_copy(object, "title");
	out->created = json_number_value(json_object_get(object, "created"));
	out->number = (unsigned long)json_integer_value(json_object_get(object, "number"));
	return out->content_type && out->body && is_instant(out->created) &&
	       take(object, "id", out->id, sizeof out->id) && !strpbrk(out->id, "-/") &&
	       take(object, "alert", out->alert, sizeof out->alert) &&
	       take(object, "webhook", out->webhook, sizeof out->webhook) &&
	       take_parts(json_object_get(object, "parts"), out) &&
	       take_replaced(json_object_get(object, "replaces"), out);
}

bool outgoing_from_text(const char *text, size_t size, struct outgoing *out)
{
	json_t *object = json_loadb(text, size, 0, NULL);

	*out = (struct outgoing){ 0 };
	bool good = from_json(object, out);

	json_decref(object);
	if (!good)
		outgoing_clear(out);
	return good;
}

/* ---- the folder ------------------------------------------------------------- */

char *outbox_name(const struct outgoing *outgoing)
{
	return must_print("%013.0f.%06lu-%s-%s%s", floor(outgoing->created * 1000),
			  outgoing->number, outgoing->id, outgoing->webhook, ending);
}

void outbox_tidy(const char *folder)
{
	static const char half[] = ".json.new";
	DIR *at = opendir(folder);

	for (struct dirent *entry = at ? readdir(at) : NULL; entry; entry = readdir(at)) {
		size_t length = strlen(entry->d_name);

		if (length > sizeof half &&
		    strcmp(entry->d_name + length - (sizeof half - 1), half) == 0)
			unlinkat(dirfd(at), entry->d_name, 0);
	}
	if (at)
		closedir(at);
}

bool outbox_add(const char *folder, const struct outgoing *outgoing)
{
	char *text = outgoing_text(outgoing);
	char *name = outbox_name(outgoing);
	char *path = must_print("%s/%s", folder, name);

	errno = EINVAL; /* of a text that is no UTF-8 */
	bool good = text && file_replace(path, text, strlen(text), true);
	int error = errno;

	free(path);
	free(name);
	free(text);
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

const char *outbox_id(const char *name, size_t *length)
{
	const char *webhook = outbox_webhook(name, length);
	const char *id = strchr(name, '-');

	if (!webhook)
		return NULL;
	*length = (size_t)(webhook - 1 - (id + 1));
	return id + 1;
}

double outbox_created(const char *name)
{
	size_t digits = strspn(name, "0123456789.");

	/* A name may be anybody's: "inf" or "1e999" is no time. */
	if (digits > CREATED_MOST || name[digits] != '-')
		return 0;
	return strtod(name, NULL) / 1000; /* up to its number, which is below a millisecond */
}

double outbox_after_all(const char *folder, double now)
{
	size_t count;
	char **names = outbox_list(folder, &count);
	double newest = count > 0 ? outbox_created(names[count - 1]) : now;

	outbox_list_free(names, count);
	/* Names hold milliseconds; within one their numbers keep the order. */
	return newest - now >= 0.001 ? newest + 0.002 : now;
}

bool outbox_read(const char *folder, const char *name, struct outgoing *out)
{
	char *path = must_print("%s/%s", folder, name);
	size_t size;
	char *text = file_read(path, MESSAGE_CEILING, &size);
	int error = errno;
	bool good = false;

	*out = (struct outgoing){ 0 };
	if (text) {
		good = outgoing_from_text(text, size, out);
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
	int error = errno;

	free(path);
	errno = error;
	return gone;
}
