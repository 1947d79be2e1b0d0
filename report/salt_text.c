/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * warmside salt as text and JSON; see salt_view.h.
 */
#include "report/salt_view.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/air.h"
#include "conf/memory.h"
#include "conf/words.h"
#include "report/json.h"

/* Told to a tenth, and never smaller than it is. */
static double upwards(double uncertainty)
{
	return ceil(uncertainty * 10 - 1e-9) / 10;
}

bool salt_is_corrected(const struct probe *probe)
{
	const struct correction *correction = &probe->correction[HUMIDITY];

	return correction->offset != 0 || correction->slope != 1;
}

double salt_corrected(const struct probe *probe, double read)
{
	const struct correction *correction = &probe->correction[HUMIDITY];

	return correction->offset + correction->slope * read;
}

double salt_told_uncertainty(const struct jar *jar)
{
	return upwards(jar->uncertainty);
}

char *salt_day(const struct salt_view *view, char buf[MEASURE_TEXT])
{
	double end = 0;

	for (size_t i = 0; i < view->request->test_count; i++)
		end = fmax(end, view->jars[i].until);
	show_instant_local(end, buf);
	buf[strcspn(buf, " ")] = '\0';
	return buf;
}

/* ---- JSON ----------------------------------------------------------------- */

static json_t *json_parts(const struct jar_parts *parts)
{
	return json_pack("{s:o,s:o,s:o,s:o,s:o,s:o}", "salt", json_number(true, parts->salt),
			 "scatter", json_number(true, parts->scatter),
			 "moving", json_number(true, parts->moving),
			 "temperature", json_number(true, parts->temperature),
			 "unequal", json_number(true, parts->unequal),
			 "resolution", json_number(parts->resolution > 0, parts->resolution));
}

static json_t *json_of(const struct probe *probe, const struct salt_test *test,
		       const struct jar *jar)
{
	return json_pack("{s:s,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o,s:o}",
			 "salt", salt_word(test->salt), "from", json_instant(test->window.from),
			 "settled", json_instant(jar->settled), "to", json_instant(jar->until),
			 "temperature", json_number(true, jar->celsius),
			 "temperature_range",
			 json_range(true, (struct range){ jar->coldest, jar->warmest }),
			 "read", json_number(true, jar->read),
			 "corrected",
			 json_number(salt_is_corrected(probe), salt_corrected(probe, jar->read)),
			 "spread", json_number(true, jar->spread),
			 "actual", json_number(true, jar->actual),
			 "difference", json_number(true, jar->actual - jar->read),
			 "uncertainty", json_number(true, jar->uncertainty),
			 "standard_uncertainties", json_parts(&jar->parts),
			 "room_known", json_boolean(jar->room_known),
			 "unseen_leak", json_number(true, jar->unseen));
}

void salt_print_json(const struct salt_view *view)
{
	json_t *tests = json_array();
	char day[MEASURE_TEXT];

	for (size_t i = 0; i < view->request->test_count; i++)
		json_array_append_new(tests, json_of(view->probe, &view->request->tests[i],
						    &view->jars[i]));
	json_print(json_pack("{s:s,s:s,s:s,s:o,s:b,s:{s:o,s:o},s:b,s:o,s:s}",
			     "probe", view->probe->name, "enclosure", view->enclosure->name,
			     "place", place_word(view->place), "tests", tests,
			     "holds", view->holds, "correction",
			     "offset", json_number(true, view->line.correction.offset),
			     "slope", json_number(true, view->line.correction.slope),
			     "doubtful", view->doubtful,
			     "humidity_correction",
			     view->holds ? json_null() : json_string(view->line.text),
			     "calibrated", salt_day(view, day)),
		   stdout);
}

/* ---- text ----------------------------------------------------------------- */

/* What the uncertainty is made of, the largest first; less than a hundredth is left out. */
static char *parts_text(const struct jar_parts *parts)
{
	struct {
		const char *name;
		double size;
	} list[] = {
		{ "the salt's own value", parts->salt },
		{ "scatter", parts->scatter },
		{ "what may still have been to come", parts->moving },
		{ "the probe's thermometer", parts->temperature },
		{ "air and salt not equally warm while the temperature changed", parts->unequal },
		{ "the probe's resolution", parts->resolution },
	};
	size_t count = sizeof list / sizeof *list;
	char *text = must_copy("");

	for (size_t n = 0; n < count; n++) {
		size_t most = 0;

		for (size_t i = 1; i < count; i++)
			if (list[i].size > list[most].size)
				most = i;
		if (list[most].size < 0.01)
			break;
		char *longer = must_print("%s%s%s %.2f", text, *text ? ", " : "", list[most].name,
					  list[most].size);

		free(text);
		text = longer;
		list[most].size = 0;
	}
	return text;
}

static void print_leak(const struct terminal *terminal, const struct jar *jar)
{
	if (isfinite(jar->unseen))
		terminal_print(terminal, 2,
			       "Not in it: the jar was compared with the room's air; a leak that "
			       "moves it by less than about %.1f %% would not have shown.",
			       upwards(jar->unseen));
	else if (jar->room_known)
		terminal_print(terminal, 2,
			       "Not in it: a leak. The room's air was too steady, or too little of "
			       "it is known, to tell one from an error of the probe.");
	else
		terminal_print(terminal, 2,
			       "Not in it: a leak. Without another probe in the room nobody can tell "
			       "one from an error of the probe.");
}

/* What it comes to as the configuration has it. */
static void print_corrected(const struct salt_view *view, const struct jar *jar)
{
	double corrected = salt_corrected(view->probe, jar->read), most = salt_told_uncertainty(jar);
	double difference = corrected - jar->actual;

	if (fabs(difference) <= most)
		terminal_print(view->request->terminal, 2,
			       "The humidity_correction makes it %.1f %%, that is %+.1f ± %.1f %%: as "
			       "right as can be told.", corrected, difference, most);
	else
		terminal_print(view->request->terminal, 2,
			       "The humidity_correction makes it %.1f %%, which is %.1f ± %.1f %% too "
			       "%s.", corrected, fabs(difference), most,
			       difference < 0 ? "low" : "high");
}

static void print_test(const struct salt_view *view, size_t i)
{
	const struct terminal *terminal = view->request->terminal;
	const struct salt_test *test = &view->request->tests[i];
	const struct jar *jar = &view->jars[i];
	enum units units = view->request->conf->units;
	double difference = jar->read - jar->actual, most = salt_told_uncertainty(jar);
	char from[MEASURE_TEXT], to[MEASURE_TEXT], mean[MEASURE_TEXT], low[MEASURE_TEXT],
		high[MEASURE_TEXT];
	char *parts = parts_text(&jar->parts);

	fputc('\n', terminal->file);
	terminal_print(terminal, 0, "Over %s (%s), closed %s to %s:", salt_title(test->salt),
		       salt_word(test->salt), show_instant_local(test->window.from, from),
		       show_instant_local(jar->until, to));
	terminal_print(terminal, 2, "settled at %s; the plateau is %s, at %s (%s to %s).",
		       show_instant_local(jar->settled, from),
		       show_duration(jar->until - jar->settled, to),
		       show_value(jar->celsius, TEMPERATURE, units, mean),
		       show_value(jar->coldest, TEMPERATURE, units, low),
		       show_value(jar->warmest, TEMPERATURE, units, high));
	terminal_print(terminal, 2, "The probe reads %.1f %% there (scatter %.2f %%); the salt has "
		       "%.1f %%.", jar->read, jar->spread, jar->actual);
	if (fabs(difference) <= most)
		terminal_print(terminal, 2, "That is %+.1f ± %.1f %%: as right as can be told.",
			       difference, most);
	else
		terminal_print(terminal, 2, "It reads %.1f ± %.1f %% too %s.", fabs(difference), most,
			       difference < 0 ? "low" : "high");
	if (salt_is_corrected(view->probe))
		print_corrected(view, jar);
	terminal_print(terminal, 2, "The ± holds in 95 of 100 cases. In it, as standard uncertainties: %s.", parts);
	print_leak(terminal, jar);
	if (view->coarse[i])
		terminal_print(terminal, 2, "Its minutes are no longer kept; this is from coarser rows.");
	free(parts);
}

static void print_lines(const struct salt_view *view)
{
	const struct terminal *terminal = view->request->terminal;
	const struct jar *jar = &view->jars[0];
	char day[MEASURE_TEXT];

	fputc('\n', terminal->file);
	if (view->doubtful)
		terminal_print(terminal, 0,
			       "A doubtful probe: for each 10 %% of humidity it moves by %.1f %%. A jar "
			       "that leaks does that too; test again in two salts, and replace the "
			       "probe when it stays so.", 10 / view->line.correction.slope);
	if (view->kept_slope)
		terminal_print(terminal, 0,
			       "One salt shows no slope: that of the humidity_correction there is kept, "
			       "and its line is shifted by %+.1f %%. Two salts would show both.",
			       jar->actual - salt_corrected(view->probe, jar->read));
	terminal_print(terminal, 0, "For probe \"%s\" in the configuration%s:", view->probe->name,
		       view->holds ? "; the correction there still holds, and only the day is new"
		       : salt_is_corrected(view->probe)
			       ? ", instead of the humidity_correction there"
			       : "");
	if (!view->holds)
		fprintf(terminal->file, "    humidity_correction = \"%s\"\n", view->line.text);
	fprintf(terminal->file, "    calibrated = \"%s\"\n", salt_day(view, day));
}

/* By 1 °C, or by 1 °F. */
static void print_unequal(const struct salt_view *view, const struct jar *jar)
{
	bool fahrenheit = view->request->conf->units == FAHRENHEIT;
	double warmer = jar->celsius + (fahrenheit ? 5 / 9.0 : 1);

	terminal_print(view->request->terminal, 2,
		       "Nor what no jar shows: that it may read otherwise when the air is drying, and "
		       "that the probe may have been warmer or colder than the salt all the time (by 1 "
		       "%s: %.1f %%).",
		       fahrenheit ? "°F" : "°C",
		       jar->actual - air_humidity_elsewhere(jar->celsius, jar->actual, warmer));
}

void salt_print_text(const struct salt_view *view)
{
	const struct terminal *terminal = view->request->terminal;

	terminal_print(terminal, 0, "Probe \"%s\" (%s%s%s): what it reads by itself, against salts",
		       view->probe->name, view->enclosure->name,
		       view->enclosure->is_room ? "" : ", ",
		       view->enclosure->is_room ? "" : place_phrase(view->place));
	if (salt_is_corrected(view->probe))
		terminal_print(terminal, 0,
			       "The archive holds corrected values; the humidity_correction of the "
			       "configuration is taken off again, which is right if it has not been "
			       "changed since.");
	for (size_t i = 0; i < view->request->test_count; i++)
		print_test(view, i);
	print_unequal(view, &view->jars[0]);
	print_lines(view);
}
