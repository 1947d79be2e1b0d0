/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Any text as a value of the configuration or the command line: ranges, durations,
 * dates, instants, sources, advice with placeholders.
 */
#include "tests/fuzz/fuzz.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/measure.h"
#include "conf/memory.h"
#include "conf/source.h"
#include "conf/utf8.h"
#include "report/window.h"

static void numbers(const char *text)
{
	struct range range;
	double value;
	int whole;

	for (int q = 0; q < QUANTITIES; q++) {
		if (parse_range(text, (enum quantity)q, &range))
			fuzz_holds(isfinite(range.low) && isfinite(range.high) &&
				   range.low <= range.high);
		if (parse_difference(text, (enum quantity)q, &value))
			fuzz_holds(isfinite(value));
	}
	if (parse_number(text, &value))
		fuzz_holds(isfinite(value));
	if (parse_duration(text, &value))
		fuzz_holds(isfinite(value) && value > 0);
	if (parse_time_of_day(text, &whole))
		fuzz_holds(whole >= 0 && whole < 86400);
}

/* What is shown of a value is read as that value again. */
static void there_and_back(const char *text)
{
	char shown[MEASURE_TEXT];
	struct range range, again;
	double value, back;
	int date, same;

	if (parse_date(text, &date)) {
		fuzz_holds(parse_date(show_date(date, shown), &same) && same == date);
	}
	if (parse_instant(text, &value)) {
		fuzz_holds(isfinite(value));
		if (value >= 0 && value < 253402300800.0) /* the year 10000 */
			fuzz_holds(parse_instant(show_instant_utc(value, shown), &back) &&
				   fabs(back - value) <= 1);
		show_instant_local(value, shown);
	}
	if (parse_duration(text, &value) && value < 3e9)
		fuzz_holds(strlen(show_duration(value, shown)) > 2 && show_hours(value, shown)[0]);
	if (!parse_range(text, HUMIDITY, &range) || fabs(range.low) > 1e6 || fabs(range.high) > 1e6)
		return;
	fuzz_holds(parse_range(show_range(range, HUMIDITY, CELSIUS, shown), HUMIDITY, &again));
	fuzz_holds(fabs(again.low - range.low) <= 0.51 && fabs(again.high - range.high) <= 0.51);
}

static void texts(const char *text)
{
	char shown[BRIEF_TEXT];
	struct window window;

	for (int key = 0; key < SOURCE_KEYS; key++) {
		char *part = source_part(text, (enum source_key)key);

		fuzz_holds(!part || strlen(part) <= 2 * strlen(text)); /* ";" becomes "; " */
		free(part);
	}
	fuzz_holds(utf8_is_line(utf8_brief(text, shown), BRIEF_TEXT));
	char *wrong = window_parse(text, NULL, 1767225600, &window);

	fuzz_holds(wrong ? wrong[0] != '\0' : window.from < window.to);
	free(wrong);
}

int LLVMFuzzerTestOneInput(const uint8_t *data, size_t size)
{
	struct fuzz_bytes in = { data, size };
	char *text = fuzz_part(&in);
	struct month_day day;
	double begin;

	if (parse_month_day(text, &day))
		fuzz_holds(day.month >= 1 && day.month <= 12 && day.day >= 1 && day.day <= 31);
	if (parse_day(text, 1, &begin))
		fuzz_holds(isfinite(begin));
	numbers(text);
	there_and_back(text);
	texts(text);
	free(text);
	return 0;
}
