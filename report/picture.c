/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Where a picture goes; see picture.h.
 */
#include "report/picture.h"

#include <errno.h>
#include <stdlib.h>
#include <string.h>
#include <unistd.h>

/* ".png" of a file's name; NULL when it has none. */
static const char *ending_of(const char *output)
{
	const char *slash = output ? strrchr(output, '/') : NULL;

	return output ? strrchr(slash ? slash : output, '.') : NULL;
}

bool picture_is_svg(const struct request *request)
{
	const char *ending = ending_of(request->output);

	if (request->format != FORMAT_UNSAID)
		return request->format == FORMAT_SVG;
	return ending && strcmp(ending, ".svg") == 0;
}

bool picture_has_place(const struct request *request)
{
	const char *ending = ending_of(request->output);

	if (ending && request->format == FORMAT_UNSAID && strcmp(ending, ".png") != 0 &&
	    strcmp(ending, ".svg") != 0) {
		fprintf(stderr, "warmside: %s: a picture is a .png or an .svg\n", request->output);
		return false;
	}
	if (request->output || !isatty(STDOUT_FILENO))
		return true;
	fputs("warmside: a picture is no text for a terminal; name a file with -o\n", stderr);
	return false;
}

static bool write_all(const char *path, const unsigned char *bytes, size_t size)
{
	FILE *file = path ? fopen(path, "wbe") : stdout;

	if (file && fwrite(bytes, 1, size, file) == size && (file == stdout || fclose(file) == 0))
		return true;
	fprintf(stderr, "warmside: %s cannot be written: %s\n", path ? path : "standard output",
		strerror(errno));
	return false;
}

int picture_write(const struct request *request, unsigned char *bytes, size_t size,
		  char *trouble)
{
	bool good = bytes && write_all(request->output, bytes, size);

	if (!bytes)
		fprintf(stderr, "warmside: %s\n", trouble);
	free(bytes);
	free(trouble);
	return good ? DONE : FAILED;
}
