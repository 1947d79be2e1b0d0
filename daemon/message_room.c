/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Matters of the whole room in sentences; see message.h.
 */
#include "daemon/message.h"

#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"
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

char *room_title(const struct room_view *view, const struct alert_record *record,
		 const struct message_context *context)
{
	char air[MEASURE_TEXT], length[MEASURE_TEXT];
	const char *wrong = message_complaint(view->quantity, view->side == BELOW, view->beyond);

	if (view->event == CLEARED)
		return message_cut(must_print("Room: enclosures back in their bands after %s",
					      show_duration(record->until - view->since, length)),
				   TITLE_CHARACTERS);
	if (view->left)
		return message_cut(must_print("Room: all but %zu enclosure%s back in their bands",
					      view->out, view->out == 1 ? "" : "s"),
				   TITLE_CHARACTERS);
	show_value(view->air, view->quantity, context->conf->units, air);
	/* On its way to the limits, and so more urgent than it was. */
	if (view->event == WORSENED && context->gravest == NOW && !view->beyond && view->quantity == TEMPERATURE)
		wrong = view->side == BELOW ? "cold and falling" : "hot and rising";
	return message_cut(must_print("Room: %zu of %zu %s %s%s%s", view->out, view->able,
				      view->event == REMINDED ? "still" : "enclosures", wrong,
				      view->has_air ? ", room " : "", view->has_air ? air : ""),
			   TITLE_CHARACTERS);
}

char *room_text(const struct room_view *view, const struct alert_record *record,
		const struct message_context *context)
{
	bool over = view->event == CLEARED;
	char air[MEASURE_TEXT], since[MEASURE_TEXT], length[MEASURE_TEXT];

	show_value(view->air, view->quantity, context->conf->units, air);
	show_instant_local(view->since, since);
	show_duration((over ? record->until : record->time) - view->since, length);
	if (over)
		return must_print("All enclosures that strayed are back%s%s. It began %s and lasted "
				  "%s.\n",
				  view->has_air ? "; the room has " : "", view->has_air ? air : "",
				  since, length);
	if (view->left)
		return must_print("Most enclosures are back%s%s. Still %s their bands: %s. They are told "
				  "by themselves from now on.\n",
				  view->has_air ? "; the room has " : "", view->has_air ? air : "",
				  view->side == BELOW ? "below" : "above", view->list);
	char *beside = view->has_air ? must_print("; %s in the room is %s",
						  quantity_word(view->quantity), air)
				     : must_copy("");
	char *text = must_print(
		"It is the room, not one enclosure: %zu of %zu are %s their bands%s.\n"
		"%s.\nSince %s, %s.\n%s%s\n",
		view->out, view->able, view->side == BELOW ? "below" : "above", beside, view->list,
		since, length,
		context->unanswered ? "Nobody has acknowledged it yet, so it is passed on.\n" : "",
		cause(view->quantity, view->side));

	free(beside);
	return text;
}
