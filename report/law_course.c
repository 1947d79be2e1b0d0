/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * A law against a stretch of air; see law_course.h.
 */
#include "report/law_course.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"

/* The air of an empty store and what a full one adds to it go the same way, the second
 * without a room. */
static void go_on(const struct course_law *law, const struct moment *moment, double hours,
		  struct course *course)
{
	const struct moment *before = moment - 1;
	struct course_way way =
		course_way(law, (before->saturated + moment->saturated) / 2, hours);

	course->empty = course_go(&way, course->empty, (before->room + moment->room) / 2);
	course->full = course_go(&way, course->full, 0);
}

struct columns columns_make(size_t count)
{
	return (struct columns){ must_calloc(count, sizeof(double)),
				 must_calloc(count, sizeof(double)),
				 must_calloc(count, sizeof(double)) };
}

void columns_free(struct columns *columns)
{
	free(columns->left);
	free(columns->answer);
	free(columns->fade);
}

static double along(const double *one, const double *other, size_t from, size_t to)
{
	double sum = 0;

	for (size_t i = from; i < to; i++)
		sum += one[i] * other[i];
	return sum;
}

/* The air began from one noisy reading.  What a better beginning would mend is taken out of
 * the rest, so that it does not count, nor pull at the law. */
static void mend(const struct columns *columns, size_t from, size_t to)
{
	double square = along(columns->fade, columns->fade, from, to);
	double left, answer;

	if (square <= 0)
		return;
	left = along(columns->fade, columns->left, from, to) / square;
	answer = along(columns->fade, columns->answer, from, to) / square;
	for (size_t i = from; i < to; i++) {
		columns->left[i] -= left * columns->fade[i];
		columns->answer[i] -= answer * columns->fade[i];
	}
}

struct stretch stretch_from(const struct law_air *air, size_t from,
			    const struct course_law *law, const struct columns *columns)
{
	double fades = exp(-(law->airing + law->exchange) * air->hours), fade = 0, square;
	struct stretch stretch = { .from = from };
	struct course course = { { 0, 0 }, { 0, 1 } };
	size_t i = from, begun = from;

	for (; i < air->count && (i == from || air->list[i].begins != STORE); i++) {
		const struct moment *moment = &air->list[i];
		double percent = moment->looked_at ? 100 / moment->saturated : 0;

		if (i > from)
			go_on(law, moment, air->hours, &course);
		fade *= fades;
		if (moment->begins != NOTHING) {
			mend(columns, begun, i);
			begun = i;
			fade = 1;
			course.empty.vapour = moment->vapour;
			course.full.vapour = 0;
		}
		columns->left[i] = moment->looked_at
				 ? moment->humidity - percent * course.empty.vapour : 0;
		columns->answer[i] = percent * course.full.vapour;
		columns->fade[i] = percent * fade;
	}
	mend(columns, begun, i);
	stretch.to = i;
	stretch.end = course;
	square = along(columns->answer, columns->answer, from, i);
	if (square > 0)
		stretch.store = along(columns->left, columns->answer, from, i) / square;
	stretch.information = square / (air->unit * air->unit);
	for (size_t k = from; k < i; k++)
		columns->left[k] = (columns->left[k] - stretch.store * columns->answer[k]) /
				   air->unit;
	return stretch;
}

double stretch_misfit(const struct columns *columns, const struct stretch *stretch)
{
	return along(columns->left, columns->left, stretch->from, stretch->to);
}
