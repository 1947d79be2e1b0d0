/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a power cut would do, as text for people; see away_view.h.
 */
#include "report/away_view.h"

#include <math.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/words.h"

static const double NEAR = 1;     /* °C: as cold as the room, all but that */

/* "5 h", "2 h 10 min", "7 min", "20 s": rounded down, the more so the longer it is. */
static char *about(double hours, char buf[MEASURE_TEXT])
{
	double seconds = hours * 3600;
	double step = seconds < 60 ? 1 : seconds < 600 ? 60 : seconds < 3 * 3600 ? 600 : 1800;

	return show_duration(fmax(floor(seconds / step) * step, 1), buf);
}

/* "would be below 15.0 °C after about 5 h"; malloc'ed, the caller frees. */
static char *cut_text(const struct away_view *view, const struct power_cut *cut)
{
	enum units units = view->request->conf->units;
	char limit[MEASURE_TEXT], near[MEASURE_TEXT], hours[MEASURE_TEXT];
	double cools;

	show_value(cut->limit, TEMPERATURE, units, limit);
	if (cut->hours <= 0)
		return must_print("is below %s already", limit);
	if (isfinite(cut->hours))
		return must_print("would be below %s after about %s", limit,
				  about(cut->hours, hours));
	cools = cooling_hours(cut->cooling.quick, cut->from, view->base.coldest,
			      view->base.coldest + NEAR);
	if (cools <= 0)
		return must_print("is as cold as the room already, and would be below %s only if "
				  "the room were", limit);
	return must_print("would be within %s of the room after about %s, and below %s only if the "
			  "room were", show_difference(NEAR, TEMPERATURE, units, near),
			  about(cools, hours), limit);
}

/* "; of its cool side and humid hide this is not known", or nothing; malloc'ed. */
static char *untold_text(const struct power_cut *cut)
{
	char *text = must_copy("");

	for (enum place place = 0; place < PLACES; place++) {
		if (!cut->untold[place])
			continue;
		char *more = must_print("%s%s%s", text, *text ? " and " : "", place_phrase(place));

		free(text);
		text = more;
	}
	if (!*text)
		return text;
	char *all = must_print("; of its %s it is not known", text);

	free(text);
	return all;
}

static void print_cut(const struct away_view *view, const struct outlook *at)
{
	const struct power_cut *cut = &at->cut;
	char *title = enclosure_title(at->enclosure), *what = cut_text(view, cut);
	char *untold = untold_text(cut);

	terminal_print(view->request->terminal, 2, "%s: the %s %s (time constant %.1f h, from %zu "
		       "time%s without heating)%s.", title, place_phrase(cut->place), what,
		       cut->cooling.quick, cut->cooling.count, cut->cooling.count == 1 ? "" : "s",
		       untold);
	free(untold);
	free(what);
	free(title);
}

static int colder_first(const void *a, const void *b)
{
	const struct outlook *one = *(const struct outlook *const *)a;
	const struct outlook *other = *(const struct outlook *const *)b;

	if (one->cut.hours != other->cut.hours)
		return one->cut.hours < other->cut.hours ? -1 : 1;
	return (one > other) - (one < other);
}

void away_print_cuts(const struct away_view *view)
{
	const struct terminal *terminal = view->request->terminal;
	const struct outlook **list = must_calloc(view->count, sizeof *list);
	size_t known = 0, unknown = view->count;
	char room[MEASURE_TEXT];

	for (size_t i = 0; i < view->count; i++)
		if (view->list[i].cut.known)
			list[known++] = &view->list[i];
	for (size_t i = view->count; i-- > 0;)
		if (!view->list[i].cut.known)
			list[--unknown] = &view->list[i];
	if (known) {
		qsort(list, known, sizeof *list, colder_first);
		terminal_print(terminal, 0, "In a power cut now, by Newton's law of cooling and "
			       "in a room that stays at %s, its coldest of the last day (a "
			       "house whose heating is out gets colder):",
			       show_value(view->base.coldest, TEMPERATURE,
					  view->request->conf->units, room));
	}
	for (size_t i = 0; i < known; i++)
		print_cut(view, list[i]);

	char *names = away_names(list + known, view->count - known);

	if (known < view->count)
		terminal_print(terminal, 0, "What a power cut would do to %s is not known: %s.",
			       names, view->base.room_temperature
					      ? "not seen without heating for long enough, not "
						"heard, or without a limit for its temperature"
					      : "nothing is known of the room's temperature");
	free(names);
	free(list);
}
