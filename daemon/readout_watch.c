/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A readout that is renewed: in place on a terminal, line by line elsewhere;
 * see readout.h.
 */
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/ioctl.h>
#include <unistd.h>

#include "conf/memory.h"
#include "daemon/readout.h"
#include "daemon/readout_view.h"
#include "daemon/when.h"

/* Worth a line where lines cannot be renewed. */
static const double step[QUANTITIES] = { [TEMPERATURE] = 0.5, [HUMIDITY] = 2 }; /* °C, % */

/* What was said of a probe last, line by line. */
struct said {
	bool any;
	double value[QUANTITIES]; /* raw */
	char *trouble;
};

struct watching {
	struct readout readout;
	bool in_place;
	struct said *said;      /* as conf->probes */
	char *source;           /* said last */
};

/* ---- in place -------------------------------------------------------------------- */

/* ECMA-48 control sequences, and the private mode 1049 that terminals share: a
 * screen of its own, so that what was there before is there again afterwards. */
static const char enter[] = "\033[?1049h", leave[] = "\033[?1049l";
static const char home[] = "\033[H", rest_of_line[] = "\033[K", rest_of_screen[] = "\033[J";

static void put(const char *text)
{
	fputs(text, stdout);
}

/* As many lines as the screen has; the last one says when there are more. */
static void put_lines(char *text, size_t rows)
{
	size_t count = 0, line = 0;

	for (const char *at = text; *at; at++)
		count += *at == '\n';
	put(home);
	for (char *at = text; *at; line++) {
		size_t length = strcspn(at, "\n");

		if (rows > 1 && count >= rows && line == rows - 2) {
			printf("... and %zu lines more", count - line);
			put(rest_of_line);
			put("\n");
			break;
		}
		printf("%.*s", (int)length, at);
		put(rest_of_line);
		put("\n");
		at += length + 1;
	}
	put(rest_of_screen);
	fflush(stdout);
}

static char *picture_of(const struct readout *readout, size_t width)
{
	char *text = NULL;
	size_t size;
	FILE *out = open_memstream(&text, &size);

	if (!out)
		return must_copy("");
	readout_show(readout, out, width, when_wall());
	fclose(out);
	return text;
}

static void renew(const struct readout *readout)
{
	struct winsize size = { 0 };

	ioctl(STDOUT_FILENO, TIOCGWINSZ, &size);
	char *text = picture_of(readout, size.ws_col);

	put_lines(text, size.ws_row);
	free(text);
}

static void hide(void *context, bool hidden)
{
	const struct watching *watching = context;

	if (!watching->in_place)
		return;
	put(hidden ? leave : enter);
	fflush(stdout);
}

/* ---- line by line ---------------------------------------------------------------- */

static bool same_text(const char *a, const char *b)
{
	return (!a && !b) || (a && b && strcmp(a, b) == 0);
}

static bool is_news(const struct answer *answer, const struct said *said)
{
	const struct reading *reading = &answer->reading;

	if (!same_text(answer->trouble, said->trouble))
		return true;
	if (!answer->read || answer->trouble)
		return false;
	for (int q = 0; q < QUANTITIES; q++)
		if (reading->has[q] && fabs(reading->value[q] - said->value[q]) >= step[q])
			return true;
	return !said->any;
}

static void say(const struct readout *readout, size_t probe)
{
	const struct answer *answer = &readout->answers[probe];
	char *where = readout_where(readout->conf, probe);

	printf("%s (%s)", readout->conf->probes[probe].name, where);
	for (int q = 0; q < QUANTITIES && answer->read && !answer->trouble; q++) {
		char *value = readout_value(readout, probe, (enum quantity)q);

		if (*value)
			printf(", %s", value);
		free(value);
	}
	if (answer->trouble) {
		printf(": %s", answer->trouble);
	} else if (answer->warming.begun) {
		char *change = readout_change(readout->conf, warming_change(&answer->warming));

		printf(", %s since it was first seen%s", change,
		       readout_riser(readout) == probe ? ", rising most" : "");
		free(change);
	}
	putchar('\n');
	free(where);
}

/* The daemon's age changes with each look; only what is wrong with it is news. */
static void say_source(struct watching *watching)
{
	const char *source = watching->readout.source;
	size_t same = source && watching->source ? strcspn(source, "0123456789") : 0;

	if (!source || (same && strncmp(source, watching->source, same) == 0))
		return;
	puts(source);
	free(watching->source);
	watching->source = must_copy(source);
}

static void say_news(struct watching *watching)
{
	const struct readout *readout = &watching->readout;

	say_source(watching);
	for (size_t p = 0; p < readout->conf->probe_count; p++) {
		const struct answer *answer = &readout->answers[p];
		struct said *said = &watching->said[p];

		if (!is_news(answer, said))
			continue;
		say(readout, p);
		free(said->trouble);
		said->trouble = answer->trouble ? must_copy(answer->trouble) : NULL;
		said->any = answer->read;
		memcpy(said->value, answer->reading.value, sizeof said->value);
	}
	fflush(stdout);
}

/* ---- both ------------------------------------------------------------------------ */

static void shown(void *context)
{
	struct watching *watching = context;

	if (watching->in_place)
		renew(&watching->readout);
	else
		say_news(watching);
}

static bool is_terminal(void)
{
	const char *term = getenv("TERM");

	return isatty(STDOUT_FILENO) && term && *term && strcmp(term, "dumb") != 0;
}

int readout_watch(const struct conf *conf)
{
	struct watching watching = { .in_place = is_terminal() };
	bool good;

	readout_begin(&watching.readout, conf);
	watching.readout.watching = true;
	watching.said = must_calloc(conf->probe_count, sizeof *watching.said);
	hide(&watching, false);
	good = readout_follow(&watching.readout, shown, hide, &watching);
	hide(&watching, true);
	/* What was seen last stays on the screen. */
	if (watching.in_place)
		readout_show(&watching.readout, stdout, readout_width(), when_wall());
	for (size_t p = 0; p < conf->probe_count; p++)
		free(watching.said[p].trouble);
	free(watching.said);
	free(watching.source);
	readout_end(&watching.readout);
	return good ? EXIT_SUCCESS : EXIT_FAILURE;
}
