/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside morning: the page, or a digest of it.
 */
#include "report/request.h"

#include <errno.h>
#include <fcntl.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#include "conf/memory.h"
#include "report/digest.h"
#include "report/morning.h"

/* What --format says, else the file's ending, else the page; but a terminal gets text. */
static enum format format_of(const struct request *request)
{
	const char *ending = request->output ? strrchr(request->output, '.') : NULL;

	if (request->format != FORMAT_UNSAID)
		return request->format;
	if (ending && strcmp(ending, ".txt") == 0)
		return FORMAT_TEXT;
	if (ending && strcmp(ending, ".json") == 0)
		return FORMAT_JSON;
	return !request->output && isatty(STDOUT_FILENO) ? FORMAT_TEXT : FORMAT_HTML;
}

static bool write_as(const struct request *request, enum format format, struct morning *morning,
		     FILE *out)
{
	if (format == FORMAT_HTML)
		return page_write(morning, out);
	if (format == FORMAT_JSON) {
		digest_json(morning, out);
	} else if (out == stdout) {
		digest_text(morning, request->terminal);
	} else {
		struct terminal plain = terminal_onto(out, 0, false, false);

		digest_text(morning, &plain);
	}
	return true;
}

/* Opens what it is written to first: a new file beside what a link leads to, or what is no
 * file, such as a device, itself; then *fresh is NULL.  NULL when that cannot be done. */
static FILE *open_fresh(const char *output, char **target, char **fresh)
{
	struct stat about = { 0 }, link;
	bool there = stat(output, &about) == 0;
	char *real = realpath(output, NULL);
	mode_t mask = umask(0);
	int file;

	umask(mask);
	*target = real ? real : must_copy(output);
	*fresh = NULL;
	if (there ? !S_ISREG(about.st_mode) : lstat(output, &link) == 0)
		return fopen(output, "we"); /* a device, a pipe, a link to what is not yet */
	*fresh = must_print("%s.XXXXXX", *target);
	file = mkostemp(*fresh, O_CLOEXEC);
	if (file < 0)
		return NULL;
	if (there && fchown(file, about.st_uid, about.st_gid) != 0)
		about.st_mode &= 0777; /* another's: it becomes ours, and nothing more */
	fchmod(file, there ? about.st_mode & 07777 : 0666 & ~mask);

	FILE *out = fdopen(file, "w");

	if (!out) {
		close(file);
		unlink(*fresh);
	}
	return out;
}

static bool is_written(FILE *file)
{
	bool good = fflush(file) == 0 && !ferror(file);

	/* Or a full disk may leave a page of nothing in the place of a good one. */
	if (good && fsync(fileno(file)) != 0)
		good = errno == EINVAL || errno == ENOTSUP; /* a device */
	return good;
}

/* The file is there as a whole or, as before, not at all: a web server may be reading it. */
static int write_file(const struct request *request, enum format format, struct morning *morning)
{
	char *target, *fresh;
	FILE *file = open_fresh(request->output, &target, &fresh);
	bool told = false;
	bool good = file != NULL;
	int why = errno;

	if (file) {
		good = write_as(request, format, morning, file);
		told = !good;
		good = good && is_written(file);
		why = errno;
		if (fclose(file) != 0 || (good && fresh && rename(fresh, target) != 0)) {
			why = good ? errno : why;
			good = false;
		}
	}
	if (!good && !told)
		fprintf(stderr, "warmside: %s cannot be written: %s\n", request->output,
			strerror(why));
	if (!good && file && fresh)
		unlink(fresh);
	free(fresh);
	free(target);
	return good ? DONE : FAILED;
}

int morning_command(const struct request *request)
{
	enum format format = format_of(request);
	struct morning morning;
	int result;

	morning_begin(request, &morning);
	if (request->output)
		result = write_file(request, format, &morning);
	else
		result = write_as(request, format, &morning, stdout) ? DONE : FAILED;
	if (result == DONE)
		result = morning.log_unreadable ? FAILED : gathered_result(&morning.gathered);
	morning_clear(&morning);
	return result;
}
