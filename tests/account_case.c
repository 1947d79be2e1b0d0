/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Accounts of rows made by hand; see account_case.h.
 */
#include "tests/account_case.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/band.h"
#include "conf/memory.h"
#include "tests/cm.h"

static char season_name[] = "brumation";
static const double ordinary[CASE_SERIES] = { 28, 24, 55 };

void account_case_put(struct account_case *c, size_t series, size_t from, size_t to, double value)
{
	struct series_rows *rows = &c->record.series[series];
	struct ribbon ribbon;

	ribbon_make(&c->bands, &c->tiny.conf, &c->tiny.enclosures[0], rows->series,
		    c->base.window.to, &ribbon);
	for (size_t i = from; i < to; i++) {
		struct row *row = &rows->list[i];
		struct in_force force = ribbon_at(&ribbon, (row->from + row->to) / 2);
		double distance;

		*row = (struct row){ .from = row->from, .to = row->to };
		if (isnan(value))
			continue;
		row->ok = row->to - row->from;
		row->has_value = true;
		row->value = row->min = row->max = value;
		if (!force.has_band)
			continue;
		distance = band_distance(force.band, value);
		row->low = distance < 0 ? row->ok : 0;
		row->high = distance > 0 ? row->ok : 0;
		row->out = fabs(distance) * row->ok;
	}
	ribbon_clear(&ribbon);
}

void account_case_move(struct account_case *c, enum case_move move)
{
	const int date = daypart_at(&c->tiny.conf.day, CASE_NOON).date + 1;
	const struct series series = { .place = WARM_SIDE, .quantity = TEMPERATURE };
	struct enclosure *t3 = &c->tiny.enclosures[0];
	struct rule *rule = &t3->places[WARM_SIDE].rules[TEMPERATURE];
	struct rule moved = *rule;

	moved.day = moved.night = (struct range){ 8, 13 };
	moved.limits = (struct range){ 4, 18 };
	if (move == MOVED_BY_RELOAD) {
		c->records[0] = band_record_of(&c->tiny.conf, t3, series, CASE_NOON - 86400);
		*rule = moved;
		c->records[1] = band_record_of(&c->tiny.conf, t3, series,
					       daypart_begin(&c->tiny.conf.day, date));
		c->bands = (struct band_list){ c->records, 2 };
		return;
	}
	c->says = (struct season_rule){ .place = WARM_SIDE, .quantity = TEMPERATURE, .day = true,
					.night = true, .limits = true, .rule = moved };
	c->season = (struct season){
		.name = season_name,
		.dates = { .kind = ONCE, .has_from = true, .from = date, .until = date + 60 },
		.rules = &c->says, .rule_count = 1 };
	c->seen = (struct rule_season){ &c->season.dates, &c->says };
	rule->seasons = &c->seen;
	rule->season_count = 1;
	t3->seasons = &c->season;
	t3->season_count = 1;
}

void account_case_rows(struct account_case *c, double from, size_t count, double row_size)
{
	double to = from + (double)count * row_size;

	for (size_t i = 0; i < CASE_SERIES; i++) {
		struct series_rows *rows = &c->record.series[i];

		free(rows->list);
		rows->list = must_calloc(count, sizeof *rows->list);
		rows->count = count;
		for (size_t n = 0; n < count; n++) {
			rows->list[n].from = from + (double)n * row_size;
			rows->list[n].to = from + (double)(n + 1) * row_size;
		}
		account_case_put(c, i, 0, count, ordinary[i]);
	}
	c->record.newest = to;
	c->record.row_size = (int)row_size;
	c->base.window = (struct window){ from, to };
	c->base.until = to;
}

int account_case_begin(void **state)
{
	struct account_case *c = must_calloc(1, sizeof *c);

	setenv("TZ", "Europe/Berlin", 1);
	tiny_begin(&c->tiny);
	c->record.count = CASE_SERIES;
	c->record.series[WARM_T].series = (struct series){ WARM_SIDE, TEMPERATURE, false };
	c->record.series[COOL_T].series = (struct series){ COOL_SIDE, TEMPERATURE, false };
	c->record.series[COOL_H].series = (struct series){ COOL_SIDE, HUMIDITY, false };
	c->tiny.enclosures[0].places[COOL_SIDE].rules[HUMIDITY].deadband = 3;
	c->alerts.lives.list = c->lives;
	c->alerts.shelved.list = c->shelved;
	c->base = (struct account_base){ .conf = &c->tiny.conf, .bands = &c->bands,
					 .alerts = &c->alerts };
	account_case_rows(c, CASE_NOON, 1440, 60);
	*state = c;
	return 0;
}

int account_case_end(void **state)
{
	struct account_case *c = *state;

	account_clear(&c->account);
	record_clear(&c->record);
	tiny_end(&c->tiny);
	free(c);
	return 0;
}

struct account *account_case_reckon(struct account_case *c)
{
	struct record copy = c->record;

	for (size_t i = 0; i < copy.count; i++) {
		struct series_rows *rows = &copy.series[i];

		rows->list = must_calloc(rows->count, sizeof *rows->list);
		if (rows->count)
			memcpy(rows->list, c->record.series[i].list,
			       rows->count * sizeof *rows->list);
	}
	account_clear(&c->account);
	account_reckon(&c->base, &c->tiny.enclosures[0], copy, &c->account);
	return &c->account;
}
