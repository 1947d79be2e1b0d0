/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The dates of a season; see resolve_dates.h.
 */
#include "conf/resolve_dates.h"

#include <limits.h>
#include <math.h>

#include "conf/measure.h"
#include "conf/season.h"

static const double a_day = 86400, longest_ramp = 182 * 86400.0; /* s: twice that is a year */

static struct date_wish read_date(struct resolve *resolve, struct section section, const char *key)
{
	struct date_wish wish = { .at = section_value(section, key) };
	char buf[SHOWN_TEXT];

	if (!wish.at)
		return wish;
	wish.said = wish.at->spoiled ? FAULTY : GIVEN;
	if (wish.said == FAULTY)
		return wish;
	if (parse_month_day(wish.at->text, &wish.yearly)) {
		wish.kind = YEARLY;
	} else if (parse_date(wish.at->text, &wish.once)) {
		wish.kind = ONCE;
	} else {
		complain(resolve, wish.at,
			 "%s is no date; write month and day for every year, like \"11-15\", or a "
			 "full date for once, like \"2026-02-20\"",
			 shown(wish.at, buf));
		wish.said = FAULTY;
	}
	return wish;
}

static void spoil_dates(struct date_wishes *wishes)
{
	wishes->from.said = wishes->to.said = wishes->until.said = FAULTY;
}

/* `to` ends a season of every year, `until` one that comes once. */
static void check_ends(struct resolve *resolve, struct date_wishes *wishes)
{
	const struct date_wish *to = &wishes->to, *until = &wishes->until;
	char buf[SHOWN_TEXT];
	bool good = true;

	if (to->said == GIVEN && to->kind == ONCE) {
		complain(resolve, to->at,
			 "%s has a year; write until = \"%s\" for a season that comes once, or month "
			 "and day for one of every year, like to = \"02-15\"",
			 shown(to->at, buf), to->at->text);
		good = false;
	}
	if (until->said == GIVEN && until->kind == YEARLY) {
		complain(resolve, until->at,
			 "%s has no year; write to = \"%s\" for a season of every year, or a full "
			 "date for one that comes once, like until = \"2026-03-14\"",
			 shown(until->at, buf), until->at->text);
		good = false;
	}
	if (!good)
		spoil_dates(wishes);
}

/* What begins every year does not end once, nor the other way round. */
static void check_kinds(struct resolve *resolve, struct date_wishes *wishes)
{
	const struct date_wish *from = &wishes->from, *to = &wishes->to, *until = &wishes->until;
	char end[SHOWN_TEXT], begin[SHOWN_TEXT];

	if (to->said == GIVEN && until->said == GIVEN)
		complain(resolve, until->at,
			 "%s ends this season once and %s every year; keep one of them",
			 shown(until->at, end), shown(to->at, begin));
	else if (until->said == GIVEN && from->said == GIVEN && from->kind == YEARLY)
		complain(resolve, until->at,
			 "%s ends this season once, but %s begins it every year; write to = "
			 "\"02-15\" for every year, or from = \"2026-02-20\" for once",
			 shown(until->at, end), shown(from->at, begin));
	else if (to->said == GIVEN && from->said == GIVEN && from->kind == ONCE)
		complain(resolve, to->at,
			 "%s ends this season every year, but %s begins it once; write until = "
			 "\"2026-03-14\" for once, or from = \"11-15\" for every year",
			 shown(to->at, end), shown(from->at, begin));
	else
		return;
	spoil_dates(wishes);
}

static void read_ramp(struct resolve *resolve, struct section section, struct date_wishes *wishes)
{
	double seconds = 0;
	char buf[SHOWN_TEXT];

	wishes->ramp_at = section_value(section, "ramp");
	wishes->ramp_said = take_duration(resolve, section, "ramp", 0, longest_ramp, &seconds);
	if (wishes->ramp_said == GIVEN && fmod(seconds, a_day) != 0) {
		complain(resolve, wishes->ramp_at,
			 "%s must be whole days, like \"14d\": a band moves once a day",
			 shown(wishes->ramp_at, buf));
		wishes->ramp_said = FAULTY;
	}
	wishes->ramp = (int)(seconds / a_day);
}

enum season_kind dates_kind(const struct date_wishes *wishes)
{
	if (wishes->from.said == GIVEN)
		return wishes->from.kind;
	return wishes->to.said == GIVEN ? YEARLY : wishes->until.said == GIVEN ? ONCE : UNDATED;
}

struct date_wishes dates_read(struct resolve *resolve, struct section section)
{
	struct date_wishes dates = {
		.from = read_date(resolve, section, "from"),
		.to = read_date(resolve, section, "to"),
		.until = read_date(resolve, section, "until"),
	};

	check_ends(resolve, &dates);
	check_kinds(resolve, &dates);
	read_ramp(resolve, section, &dates);
	return dates;
}

void dates_override(struct date_wishes *dates, const struct date_wishes *own)
{
	enum season_kind was = dates_kind(dates), is = dates_kind(own);

	if (was != UNDATED && is != UNDATED && was != is)
		*dates = (struct date_wishes){ 0 };
	if (own->from.said != ABSENT)
		dates->from = own->from;
	if (own->to.said != ABSENT)
		dates->to = own->to;
	if (own->until.said != ABSENT)
		dates->until = own->until;
	if (own->ramp_said != ABSENT) {
		dates->ramp_said = own->ramp_said;
		dates->ramp_at = own->ramp_at;
		dates->ramp = own->ramp;
	}
}

/* A date that another one calls for.  False when it is not there. */
static bool has_date(struct resolve *resolve, const struct date_wish *wanted,
		     const struct date_wish *by, const char *example)
{
	const struct statement *section = &resolve->script->list[by->at->inside];

	if (wanted->said == ABSENT && !section->unsure && !resolve->script->garbled)
		complain(resolve, by->at, "%s is given without the other end of the season; write %s too",
			 by->at->name, example);
	return wanted->said == GIVEN;
}

/* False when the dates do not go together.  Fills in their number of days,
 * that of the shortest year; INT_MAX for a season that has always been. */
static bool check_order(struct resolve *resolve, const struct date_wishes *wishes,
			const struct season_dates *dates, int *days)
{
	char buf[SHOWN_TEXT], from[MEASURE_TEXT];

	*days = INT_MAX;
	if (dates->kind == ONCE) {
		if (!dates->has_from)
			return true;
		*days = dates->until - dates->from;
		if (*days > 0)
			return true;
		complain(resolve, wishes->until.at, "%s must be later than from, %s",
			 shown(wishes->until.at, buf), show_date(dates->from, from));
		return false;
	}
	if (dates->first.month == dates->last.month && dates->first.day == dates->last.day) {
		complain(resolve, wishes->to.at,
			 "the season begins and ends on the same day; from and to must differ");
		return false;
	}
	for (int year = 2021; year < 2025; year++) { /* one of them with a leap day at each end */
		int first, last;

		season_of_year(dates, year, &first, &last);
		*days = last - first < *days ? last - first : *days;
	}
	return true;
}

static void check_ramp(struct resolve *resolve, const struct date_wishes *wishes,
		       const struct season_dates *dates, int days)
{
	/* A ramp taken over is not to be mended where it stands. */
	const struct statement *end = dates->kind == ONCE ? wishes->until.at : wishes->to.at;
	const struct statement *at = wishes->ramp_at;
	char buf[SHOWN_TEXT];

	if (dates->ramp == 0)
		return;
	if (at->inside < end->inside)
		at = end;
	if (wishes->from.said == FAULTY)
		return;
	if (dates->kind == ONCE && !dates->has_from)
		complain(resolve, at,
			 "%s needs the day on which it begins; write from = \"2026-02-20\" too, or "
			 "ramp = \"0d\"",
			 shown(wishes->ramp_at, buf));
	else if (2 * dates->ramp > days)
		complain(resolve, at,
			 "%s must fit into the season twice, coming and going; the season has %d "
			 "days, so write ramp = \"%dd\" at most",
			 shown(wishes->ramp_at, buf), days, days / 2);
}

struct season_dates dates_finish(struct resolve *resolve, const struct date_wishes *wishes)
{
	const struct date_wish *from = &wishes->from, *to = &wishes->to, *until = &wishes->until;
	struct season_dates dates = { .kind = dates_kind(wishes), .ramp = wishes->ramp };
	static const struct season_dates none = { .kind = UNDATED };
	int days;

	if (wishes->ramp_said != GIVEN)
		dates.ramp = 0;
	if (dates.kind == YEARLY) {
		if (from->said == GIVEN && !has_date(resolve, to, from, "to = \"02-15\""))
			return none;
		if (from->said != GIVEN && !has_date(resolve, from, to, "from = \"11-15\""))
			return none;
		dates.first = from->yearly;
		dates.last = to->yearly;
	} else if (dates.kind == ONCE) {
		if (from->said == GIVEN && !has_date(resolve, until, from, "until = \"2026-03-14\""))
			return none;
		dates.has_from = from->said == GIVEN;
		dates.from = from->once;
		dates.until = until->once;
	} else {
		return none;
	}
	if (!check_order(resolve, wishes, &dates, &days))
		return none;
	check_ramp(resolve, wishes, &dates, days);
	return dates;
}
