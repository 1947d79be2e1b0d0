/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What a forecast stands on, as text for people; see away_view.h.
 */
#include "report/away_view.h"

#include <math.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"

static const double FEW = 5 * 86400.0; /* s of a past that is told to be short */

/* Of whom there is little to go by: the days to come may well be unlike so few. */
static void print_short(const struct away_view *view)
{
	const struct outlook **few = must_calloc(view->count + 1, sizeof *few);
	size_t count = 0;
	double most = 0;
	char span[MEASURE_TEXT];

	for (size_t i = 0; i < view->count; i++) {
		double seconds = view->list[i].past_seconds;

		if (view->list[i].gap != GAP_NONE || seconds >= FEW)
			continue;
		few[count++] = &view->list[i];
		most = fmax(most, seconds);
	}

	char *names = away_names(few, count);

	if (count)
		terminal_print(view->request->terminal, 0, "Of %s only %s%s of the past are known.",
			       names, count > 1 ? "up to " : "",
			       show_duration(floor(most / 3600) * 3600, span));
	free(names);
	free(few);
}

/* The begin of the first record that something is foretold from. */
static double first_record(const struct away_view *view)
{
	double first = view->base.window.to;

	for (size_t i = 0; i < view->count; i++)
		if (view->list[i].gap == GAP_NONE)
			first = fmin(first, view->list[i].past_from);
	return fmax(first, view->base.window.from);
}

static bool is_room_known(const struct away_view *view)
{
	for (size_t i = 0; i < view->count; i++)
		if (view->list[i].forecast.known && !view->list[i].forecast.room_known)
			return false;
	return true;
}

void away_print_basis(const struct away_view *view)
{
	const struct terminal *terminal = view->request->terminal;
	char from[MEASURE_TEXT];

	terminal_print(terminal, 0, "Assumed: the days to come are like those since %s, heating and "
		       "lamps go on working, and nobody opens or mists. In brackets: the time "
		       "within which it happens 8 times of 10; longest below and the verdict are of "
		       "the unfavourable end. That is of each enclosure: the weather is common to "
		       "all, and when one is early, others may be too.",
		       show_instant_local(first_record(view), from));
	print_short(view);
	if (!is_room_known(view))
		terminal_say(terminal, 0, "Nothing is known of the room's air: anything from quite dry "
			     "to nearly as damp as inside is reckoned with, and so the brackets are "
			     "wide. What lies farther ahead than an enclosure was ever left "
			     "unmisted is not to be relied on. A probe in the room helps.");
	terminal_say(terminal, 0, "This is no promise. Let somebody look in all the same: an animal "
		     "needs eyes on it.");
}
