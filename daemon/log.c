/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Lines on standard error; see log.h.
 */
#include "daemon/log.h"

#include <errno.h>
#include <poll.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <unistd.h>

enum { LINE_SIZE = 1024, MISSING_SIZE = 96 };

/* Of this process, and of the children it forks. */
static struct {
	bool never_waits;
	unsigned long missing;  /* lines that nobody took */
} standard_error;

void log_never_wait(void)
{
	standard_error.never_waits = true;
}

/* A pipe with room, and a socket as a journal has, take a line at once. */
static bool is_taken_now(void)
{
	struct pollfd out = { .fd = STDERR_FILENO, .events = POLLOUT };

	return !standard_error.never_waits ||
	       (poll(&out, 1, 0) == 1 && out.revents & POLLOUT);
}

static void write_out(const char *line, size_t size)
{
	char missing[MISSING_SIZE];

	if (!is_taken_now()) {
		standard_error.missing++;
		return;
	}
	if (standard_error.missing > 0) {
		int length = snprintf(missing, sizeof missing,
				      "warning: missing lines of this log here: %lu, which nobody took\n",
				      standard_error.missing);

		if (write(STDERR_FILENO, missing, (size_t)length) < 0) {
			standard_error.missing++;
			return;
		}
		standard_error.missing = 0;
		if (!is_taken_now()) {
			standard_error.missing = 1;
			return;
		}
	}
	if (write(STDERR_FILENO, line, size) < 0)
		return; /* nowhere left to say so */
}

/* One write a line, so that three processes never mix theirs. */
static void put_line(const char *mark, const char *format, va_list arguments, int error)
{
	char line[LINE_SIZE];
	size_t used = (size_t)snprintf(line, sizeof line, "%s", mark);
	int more = vsnprintf(line + used, sizeof line - used - 1, format, arguments);

	used += more < 0 ? 0 : (size_t)more;
	if (used > sizeof line - 2)
		used = sizeof line - 2;
	if (error) {
		int extra = snprintf(line + used, sizeof line - used - 1, ": %s", strerror(error));

		used += extra < 0 ? 0 : (size_t)extra;
		if (used > sizeof line - 2)
			used = sizeof line - 2;
	}
	for (size_t i = 0; i < used; i++)
		if ((unsigned char)line[i] < ' ' || line[i] == 0x7f)
			line[i] = '?';
	line[used++] = '\n';
	write_out(line, used);
}

void log_info(const char *format, ...)
{
	va_list arguments;

	va_start(arguments, format);
	put_line("", format, arguments, 0);
	va_end(arguments);
}

void log_warn(const char *format, ...)
{
	va_list arguments;

	va_start(arguments, format);
	put_line("warning: ", format, arguments, 0);
	va_end(arguments);
}

void log_error(const char *format, ...)
{
	va_list arguments;

	va_start(arguments, format);
	put_line("error: ", format, arguments, 0);
	va_end(arguments);
}

void log_errno(const char *format, ...)
{
	int error = errno;
	va_list arguments;

	va_start(arguments, format);
	put_line("warning: ", format, arguments, error);
	va_end(arguments);
}

bool log_changed(struct log_state *state, bool on)
{
	bool changed = state->on != on;

	state->on = on;
	return changed;
}
