/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The top of the configuration: units, state, day, quiet hours and archive;
 * see resolve.h.
 */
#include "conf/resolve.h"

#include <math.h>
#include <stdlib.h>

#include "conf/measure.h"
#include "conf/memory.h"

static const double a_minute = 60, an_hour = 3600, a_day = 86400, twenty_years = 7305 * 86400.0;

static void resolve_top(struct resolve *resolve)
{
	static const char *const units[] = { "C", "F" };
	const char *state;
	size_t index = CELSIUS;

	take_choice(resolve, resolve->top, "units", units, 2, &index);
	resolve->conf->units = (enum units)index;
	if (take_text(resolve, resolve->top, "state", 4000, &state) == GIVEN)
		resolve->conf->state = path_beside(resolve->path, state);
	resolve->conf->gather = 30;
	take_duration(resolve, resolve->top, "gather", 0, 600, &resolve->conf->gather);
	resolve->conf->test_every = 30 * a_day;
	take_duration(resolve, resolve->top, "test_every", 0, 366 * a_day,
		      &resolve->conf->test_every);
	resolve_misting_due(resolve, resolve->top, &resolve->conf->misting_due);
}

static void check_day(struct resolve *resolve, struct section section, const struct day *day)
{
	const struct statement *at = section_value(section, "changeover");
	double light = day->to - day->from;
	char change[MEASURE_TEXT], shortest[MEASURE_TEXT];

	if (light < 0)
		light += a_day;
	if (light == 0) {
		at = section_value(section, "to");
		complain(resolve, at ? at : section_head(section),
			 "the day begins and ends at the same time; from and to must differ");
		return;
	}
	if (day->changeover < fmin(light, a_day - light))
		return;
	complain(resolve, at ? at : section_head(section),
		 "the changeover of %s%s must be shorter than the day and than the night: the "
		 "shorter of them has %s",
		 show_duration(day->changeover, change),
		 at ? "" : " (what is taken when none is given)",
		 show_duration(fmin(light, a_day - light), shortest));
}

static void resolve_day(struct resolve *resolve)
{
	struct day *day = &resolve->conf->day;
	struct section section;
	enum said from, to, changeover;

	*day = (struct day){ .from = 8 * 3600, .to = 20 * 3600, .changeover = 90 * 60 };
	if (section_count(resolve->top, "day") == 0)
		return;
	section = section_at(resolve->top, "day", 0);
	from = take_time_of_day(resolve, section, "from", &day->from);
	to = take_time_of_day(resolve, section, "to", &day->to);
	changeover = take_duration(resolve, section, "changeover", 0, a_day / 2, &day->changeover);
	if (from != FAULTY && to != FAULTY && changeover != FAULTY)
		check_day(resolve, section, day);
}

static void resolve_quiet(struct resolve *resolve)
{
	struct day *quiet = &resolve->conf->quiet;
	struct section section;
	enum said from = ABSENT, to = ABSENT;

	if (section_count(resolve->top, "quiet") == 0)
		return;
	section = section_at(resolve->top, "quiet", 0);
	if (has_key(resolve, section, "from", "\"22:00\""))
		from = take_time_of_day(resolve, section, "from", &quiet->from);
	if (has_key(resolve, section, "to", "\"07:00\""))
		to = take_time_of_day(resolve, section, "to", &quiet->to);
	resolve->conf->has_quiet = from == GIVEN && to == GIVEN;
	if (resolve->conf->has_quiet && quiet->from == quiet->to)
		complain(resolve, section_value(section, "to"),
			 "the quiet hours begin and end at the same time; from and to must differ");
}

/* One row size must be kept at least as long as the finer one. */
static void check_rows(struct resolve *resolve, struct section section, const char *fine,
		       double fine_span, const char *coarse, double coarse_span)
{
	const struct statement *at = section_value(section, coarse);
	char fine_text[MEASURE_TEXT], coarse_text[MEASURE_TEXT];

	if (coarse_span >= fine_span)
		return;
	if (!at)
		at = section_value(section, fine);
	complain(resolve, at, "%s (%s) must be kept at least as long as %s (%s)", coarse,
		 show_duration(coarse_span, coarse_text), fine,
		 show_duration(fine_span, fine_text));
}

static void resolve_archive(struct resolve *resolve)
{
	struct archive_rows *rows = &resolve->conf->archive;
	struct section section;
	enum said minutes, ten_minutes, hours;

	*rows = (struct archive_rows){ 10 * a_day, 90 * a_day, 1095 * a_day, an_hour / 6 };
	if (section_count(resolve->top, "archive") == 0)
		return;
	section = section_at(resolve->top, "archive", 0);
	minutes = take_duration(resolve, section, "minutes", a_day, twenty_years, &rows->minutes);
	ten_minutes = take_duration(resolve, section, "ten_minutes", a_day, twenty_years,
				    &rows->ten_minutes);
	hours = take_duration(resolve, section, "hours", a_day, twenty_years, &rows->hours);
	take_duration(resolve, section, "write_every", a_minute, an_hour, &rows->write_every);
	if (minutes != FAULTY && ten_minutes != FAULTY)
		check_rows(resolve, section, "minutes", rows->minutes, "ten_minutes",
			   rows->ten_minutes);
	if (ten_minutes != FAULTY && hours != FAULTY)
		check_rows(resolve, section, "ten_minutes", rows->ten_minutes, "hours",
			   rows->hours);
}

void resolve_all(struct resolve *resolve)
{
	resolve_top(resolve);
	resolve_day(resolve);
	resolve_quiet(resolve);
	resolve_archive(resolve);
	resolve_buses(resolve);
	resolve_probes(resolve);
	resolve_homes(resolve);
	if (!resolve->no_webhooks) {
		resolve_webhooks(resolve);
		resolve_heartbeat(resolve);
	}
}
