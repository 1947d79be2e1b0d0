/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Matters of the whole room in sentences; see message.h.
 */
#include "daemon/message.h"

#include <stdlib.h>

#include "conf/daypart.h"
#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/season.h"
#include "conf/words.h"
#include "daemon/flow_tell.h"

/* What usually is the matter when a whole room strays: common practice, no
 * source. */
static const char *cause(enum quantity quantity, enum side side)
{
	if (quantity == TEMPERATURE)
		return side == BELOW
			       ? "When all grow cold together it is usually a power cut, a tripped "
				 "breaker or the heating of the room: look at the mains first, then "
				 "keep the warmth in. (common practice)"
			       : "When all grow hot together it is usually the room: sun, a heater "
				 "left on, no ventilation. Cool and air the room first. (common "
				 "practice)";
	return side == BELOW ? "When all grow dry together it is usually the air of the room: a "
			       "furnace, frost outside, an open window. Damp the room's air, then mist. "
			       "(common practice)"
			     : "When all grow damp together it is usually the air of the room: wet "
			       "weather, laundry, a humidifier left on. Air the room first. (common "
			       "practice)";
}

enum { NAMED = 12 }; /* at most */

/* Warming up and misting are for the others; "" where there are none who rest. */
static char *rest_of(const struct conf *conf, double time)
{
	int date = daypart_at(&conf->day, time).date;
	char *list = must_copy(""), *text;
	size_t count = 0;

	for (size_t i = 0; i < conf->enclosure_count; i++) {
		const struct enclosure *enclosure = &conf->enclosures[i];

		if (enclosure->out_of_service || !enclosure_rests(enclosure, date) ||
		    count++ >= NAMED)
			continue;
		text = must_print("%s%s%s", list, *list ? ", " : "", enclosure->label);
		free(list);
		list = text;
	}
	if (count == 0)
		return list;
	text = count > NAMED ? must_print(" and %zu more", count - NAMED) : must_copy("");
	char *sentence = must_print("Whoever rests in the cold is neither warmed up quickly nor "
				    "misted: %s%s.\n", list, text);

	free(text);
	free(list);
	return sentence;
}

/* "Room: 9 of 12 enclosures too cold, room 17.4 °C": as much as has room. */
static char *title_of(const struct room_view *view, enum event told, const char *air)
{
	const char *wrong = complaint_phrase(view->quantity, view->side == BELOW, false);
	const char *what = told == REMINDED ? " still" : view->danger ? "" : " enclosures";
	char *danger = view->danger ? must_print(", %zu in danger", view->danger) : must_copy("");
	char *title = must_print("Room: %zu of %zu%s %s%s%s%s", view->out, view->able, what, wrong,
				 danger, view->has_air ? ", room " : "", view->has_air ? air : "");

	free(danger);
	return message_cut(title, TITLE_CHARACTERS);
}

char *room_title(const struct room_view *view, const struct alert_record *record,
		 const struct message_context *context)
{
	char air[MEASURE_TEXT], length[MEASURE_TEXT];

	if (context->told == CLEARED)
		return message_cut(must_print("Room: enclosures back in their bands after %s",
					      show_duration(record->until - view->since, length)),
				   TITLE_CHARACTERS);
	if (view->left)
		return message_cut(must_print("Room: all but %zu enclosure%s back in their bands",
					      view->out, view->out == 1 ? "" : "s"),
				   TITLE_CHARACTERS);
	return title_of(view, context->told,
			show_value(view->air, view->quantity, context->conf->units, air));
}

char *room_text(const struct room_view *view, const struct alert_record *record,
		const struct message_context *context)
{
	bool over = context->told == CLEARED;
	char air[MEASURE_TEXT], since[MEASURE_TEXT], length[MEASURE_TEXT];

	show_value(view->air, view->quantity, context->conf->units, air);
	show_instant_local(view->since, since);
	show_duration((over ? record->until : record->time) - view->since, length);
	if (over)
		return must_print("All enclosures that strayed are back%s%s. It began %s and lasted "
				  "%s.\n",
				  view->has_air ? "; the room is at " : "", view->has_air ? air : "",
				  since, length);
	if (view->left)
		return must_print("Most enclosures are back%s%s. Not back for good yet: %s. Each is told "
				  "by itself from now on.\n",
				  view->has_air ? "; the room is at " : "", view->has_air ? air : "",
				  view->list);
	char *beside = view->has_air ? must_print("; %s in the room is %s",
						  quantity_word(view->quantity), air)
				     : must_copy("");
	char *rest = view->side == BELOW ? rest_of(context->conf, record->time) : must_copy("");
	char *text = must_print(
		"%s: %zu of %zu are %s their bands%s%s.\n%s.\nSince %s, for %s.\n%s%s\n%s",
		view->out * 2 > view->able ? "It is the room, not one enclosure"
					   : "It was the room, and not all are back",
		view->out, view->able, view->side == BELOW ? "below" : "above",
		view->danger ? ", some beyond their limits or on the way there" : "", beside,
		view->list, since, length,
		context->unanswered ? "Nobody has acknowledged it yet, so it is passed on: please "
				      "look after it, or reach the keeper.\n"
				    : "",
		cause(view->quantity, view->side), rest);

	free(rest);
	free(beside);
	return text;
}
