/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * --from and --to; see window.h.
 */
#include "report/window.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "report/fetch.h"

enum { DEFAULT_SPAN = 24 * 3600 }; /* s */

/* "20260105" is read as a date, as rrdtool does, although it is a number. */
static bool is_plain_date(const char *text)
{
	return strlen(text) == 8 && strspn(text, "0123456789") == 8;
}

static struct moment moment_of(const char *text)
{
	struct moment moment = { .at_style = text };
	double instant;

	if (!is_plain_date(text) && parse_instant(text, &instant))
		moment = (struct moment){ .instant = instant };
	return moment;
}

char *window_parse(const char *from, const char *to, double now, struct window *out)
{
	struct moment end = { .instant = floor(now / 60) * 60 };
	struct moment start = { .at_style = "end-86400s" };

	if (to)
		end = moment_of(to);
	if (from)
		start = moment_of(from);
	else if (!end.at_style)
		start = (struct moment){ .instant = end.instant - DEFAULT_SPAN };

	char *trouble = fetch_times(&start, &end);

	if (trouble) {
		char *sentence = must_print("%s; write for example 2026-01-05T08:00, 1767600000 "
					    "or -2d", trouble);

		free(trouble);
		return sentence;
	}
	if (!(start.instant < end.instant)) {
		char a[MEASURE_TEXT], b[MEASURE_TEXT];

		return must_print("the window begins at %s and ends at %s; --from must be "
				  "before --to",
				  show_instant_local(start.instant, a),
				  show_instant_local(end.instant, b));
	}
	*out = (struct window){ .from = start.instant, .to = end.instant };
	return NULL;
}
