/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Addresses, secrets and their files; see hidden.h.
 */
#include "conf/hidden.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

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

/* systemd.exec(5), LoadCredential=: where the service finds its credentials, a
 * file each; one from a folder has the folder's and its own name with _ between.
 * NULL for names that cannot be one, or without any. */
static char *credential(const char *name)
{
	const char *folder = getenv("CREDENTIALS_DIRECTORY");
	char *path;

	if (!folder || *name == '/' || *name == '.')
		return NULL;
	path = must_print("%s/%s", folder, name);
	for (char *at = path + strlen(folder) + 1; *at != '\0'; at++)
		if (*at == '/')
			*at = '_';
	return path;
}

/* The file "@name" points to: beside the configuration when it may be read
 * there, else a credential: the service is handed what only root can read.  The
 * caller frees. */
static char *find_named(struct resolve *resolve, const char *name)
{
	char *beside = path_beside(resolve->path, name);
	char *other = access(beside, R_OK) == 0 ? NULL : credential(name);

	if (other && access(other, F_OK) == 0) {
		free(beside);
		return other;
	}
	free(other);
	return beside;
}

/* The bytes of the file; tells when they cannot be read. */
static char *read_named(struct resolve *resolve, const struct statement *value, const char *path,
			size_t ceiling, size_t *size)
{
	char *text = file_read(path, ceiling, size);
	int error = errno;
	char *other, *why;

	if (text)
		return text;
	why = unreadable(error, ceiling);
	other = error == ENOENT ? credential(value->text + 1) : NULL;
	complain(resolve, value, "%s: %s %s%s%s", value->name, path, why,
		 other ? ", and no credential has that name" : "",
		 error == EACCES ? "; let its owner give it to whoever runs warmsided with chown, or to "
				   "its group with chgrp and chmod 640"
		 : error == ENOENT
			 ? "; it is to hold one line, and chmod 600 closes it to others"
			 : "");
	free(other);
	free(why);
	return NULL;
}

static bool is_open_to_all(const char *path)
{
	struct stat status;

	return stat(path, &status) == 0 && S_ISREG(status.st_mode) &&
	       (status.st_mode & S_IRWXO) != 0;
}

static char *read_first_line(struct resolve *resolve, const struct statement *value)
{
	char *path = find_named(resolve, value->text + 1);
	size_t size = 0;
	char *text = read_named(resolve, value, path, SECRET_BYTES, &size);

	if (text)
		text[strcspn(text, "\r\n")] = '\0';
	if (text && is_open_to_all(path))
		complain(resolve, value,
			 "%s: %s is open to every user of this computer; close it with chmod 600, "
			 "or chmod 640 when a group must read it",
			 value->name, path);
	if (text && *text == '\0') {
		complain(resolve, value, "%s: the first line of %s is empty; it must hold the %s",
			 value->name, path, value->name);
		free(text);
		text = NULL;
	}
	free(path);
	return text;
}

char *hidden_line(struct resolve *resolve, const struct statement *value)
{
	return *value->text == '@' ? read_first_line(resolve, value) : must_copy(value->text);
}

char *named_text(struct resolve *resolve, const struct statement *value, size_t ceiling,
		 size_t *size)
{
	char *path = find_named(resolve, value->text + 1);
	char *text = read_named(resolve, value, path, ceiling, size);

	free(path);
	return text;
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

static char *take_hidden(struct resolve *resolve, const struct statement *value)
{
	return value && !value->spoiled ? hidden_line(resolve, value) : NULL;
}

char *take_endpoint(struct resolve *resolve, struct section section)
{
	const struct statement *value = section_value(section, "endpoint");
	char *text;

	if (!has_key(resolve, section, "endpoint", "\"https://...\", or \"@file\" that holds it"))
		return NULL;
	text = take_hidden(resolve, value);
	if (text && !is_endpoint(text))
		complain(resolve, value,
			 "the endpoint must be one whole address that begins with http:// or "
			 "https://");
	return text;
}

char *take_secret(struct resolve *resolve, struct section section)
{
	const struct statement *value = section_value(section, "secret");
	char *text = take_hidden(resolve, value);

	if (text && !is_secret(text))
		complain(resolve, value,
			 "the secret must be whsec_ and base64 behind it, of %d to %d bytes",
			 SECRET_LEAST_BYTES, SECRET_MOST_BYTES);
	return text;
}
