/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Paths read back; see page_case.h.
 */
#include "tests/page_case.h"

#include <stdio.h>

#include "conf/memory.h"
#include "tests/cm.h"

static double number(const char **at)
{
	char *end;
	double value = strtod(*at, &end);

	if (end == *at)
		fail_msg("no number at %.20s", *at);
	*at = *end == ' ' ? end + 1 : end;
	return value;
}

static void corner(struct stroke *stroke, double x, double y)
{
	assert_in_range(stroke->count, 0, POINTS - 1);
	stroke->x[stroke->count] = x;
	stroke->y[stroke->count++] = y;
}

bool next_stroke(const char **at, struct stroke *stroke)
{
	double x, y;

	if (**at != 'M')
		return false;
	++*at;
	x = number(at);
	y = number(at);
	stroke->count = 0;
	stroke->closed = false;
	corner(stroke, x, y);
	while (**at && **at != '"' && **at != 'M') {
		char command = *(*at)++;

		if (command == 'z') {
			stroke->closed = true;
			continue;
		}
		if (command == 'h' || command == 'l')
			x += number(at);
		if (command == 'v' || command == 'l')
			y += number(at);
		if (!strchr("hvl", command))
			fail_msg("a path has the command %c", command);
		corner(stroke, x, y);
	}
	return true;
}

const char *path_of(const char *svg, const char *class, size_t n)
{
	char *wanted = must_print("<path class=\"%s\" d=\"", class);
	const char *at = svg;

	for (size_t i = 0; at && i <= n; i++) {
		at = strstr(at, wanted);
		at = at ? at + strlen(wanted) : NULL;
	}
	free(wanted);
	return at;
}

double height_at(const struct stroke *stroke, double x)
{
	for (size_t i = 1; i < stroke->count; i++) {
		double left = stroke->x[i - 1], right = stroke->x[i];

		if (x < left || x > right || right <= left)
			continue;
		return stroke->y[i - 1] +
		       (stroke->y[i] - stroke->y[i - 1]) * (x - left) / (right - left);
	}
	assert_near(stroke->x[0], x, 0); /* a dot */
	return stroke->y[0];
}

void heights_at(const struct stroke *stroke, double x, double *top, double *bottom)
{
	*top = INFINITY;
	*bottom = -INFINITY;
	for (size_t i = 0; i < stroke->count; i++) {
		size_t next = (i + 1) % stroke->count;
		double a = stroke->x[i], b = stroke->x[next], y;

		if (fmin(a, b) > x || fmax(a, b) < x || fabs(a - b) < 0.5)
			continue;
		y = stroke->y[i] + (stroke->y[next] - stroke->y[i]) * (x - a) / (b - a);
		*top = fmin(*top, y);
		*bottom = fmax(*bottom, y);
	}
}

/* ---- what is drawn ---------------------------------------------------------------- */

void draw(struct account_case *c, enum units units, struct drawn *out)
{
	struct graph_input input = {
		.account = account_case_reckon(c), .alerts = &c->alerts.history, .units = units,
		.width = PAGE_COLUMNS + MARGIN_LEFT + MARGIN_RIGHT,
	};
	char *trouble = NULL;
	size_t size;

	*out = (struct drawn){ 0 };
	for (int place = 0; place < PLACES; place++)
		input.wanted[place] = true;
	assert_true(graph_plan(&input, &out->graph, &trouble));
	for (size_t i = 0; i < CASE_SERIES; i++) {
		FILE *file = open_memstream(&out->plots[i], &size);

		path_plot(file, &out->graph.panels[i]);
		fclose(file);
	}
	for (int q = 0; q < QUANTITIES; q++) {
		FILE *file = open_memstream(&out->strips[q], &size);

		out->judged[q] = path_strip(file, &out->graph, (enum quantity)q, &out->strip[q]);
		fclose(file);
		assert_int_equal(out->judged[q], size > 0);
	}
}

void undraw(struct drawn *drawn)
{
	for (size_t i = 0; i < CASE_SERIES; i++)
		free(drawn->plots[i]);
	for (int q = 0; q < QUANTITIES; q++)
		free(drawn->strips[q]);
	graph_clear(&drawn->graph);
}
