/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * All accounts of a window; see morning.h.
 */
#include "report/morning.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"

static const double PAST = 300; /* s: a window that ended before that is over */

static int gravest_first(const void *a, const void *b)
{
	const struct alert_life *one = *(const struct alert_life *const *)a;
	const struct alert_life *other = *(const struct alert_life *const *)b;

	if (one->last.priority != other->last.priority)
		return one->last.priority > other->last.priority ? -1 : 1;
	return (one->raised > other->raised) - (one->raised < other->raised);
}

static void find_standing(struct morning *morning)
{
	const struct alert_lives *lives = &morning->alerts.lives;

	morning->standing = must_calloc(lives->count, sizeof *morning->standing);
	for (size_t i = 0; i < lives->count; i++)
		if (alert_stood_at(&lives->list[i], morning->base.until))
			morning->standing[morning->standing_count++] = &lives->list[i];
	qsort(morning->standing, morning->standing_count, sizeof *morning->standing, gravest_first);
}

void morning_begin(const struct request *request, struct morning *out)
{
	struct window window = request->window;
	double until = request->until_now ? fmax(request->now, window.to)
					  : fmin(request->now, window.to);
	struct window told = { window.from, until };

	*out = (struct morning){
		.base = { request->conf, window, until, &out->bands, &out->alerts },
		.made = request->now,
		.lines = must_calloc(request->conf->enclosure_count, sizeof *out->lines),
	};
	out->log_unreadable = !alerts_load(request->conf->state, told, &out->alerts);
	bands_load(request->conf->state, &out->bands);
	find_standing(out);
}

static void add(struct morning *morning, const struct account *account)
{
	const struct record *record = &account->record;
	struct morning_line *line = &morning->lines[morning->count];

	*line = (struct morning_line){
		.enclosure = account->enclosure,
		.order = morning->count,
		.need = account->need,
		.urgent = account->urgent,
		.unsafe = account->unsafe,
		.endangered = account->endangered,
		.shelved = account->shelved != NULL,
		.weight = account->weight,
		.watched = account->count > 0,
		.known = account->known,
		.silent = true,
		.complaint = account_complaint(account, false, morning->base.conf->units),
		.brief = account_complaint(account, true, morning->base.conf->units),
	};
	for (size_t i = 0; i < account->count; i++) {
		const struct series_account *series = &account->series[i];

		line->silent &= series->silent;
		if (series->totals.known)
			line->heard = fmax(line->heard, series->silent_since);
	}
	morning->count++;
	gather_note(&morning->gathered, account->enclosure, record);
}

void morning_account(struct morning *morning, size_t i, struct account *out)
{
	account_make(&morning->base, &morning->base.conf->enclosures[i], true, out);
	add(morning, out);
}

static int worst_first(const void *a, const void *b)
{
	const struct morning_line *one = a, *other = b;

	if (one->need != other->need)
		return one->need < other->need ? -1 : 1;
	if (one->enclosure->is_room != other->enclosure->is_room)
		return one->enclosure->is_room ? 1 : -1;
	if (one->urgent != other->urgent)
		return one->urgent ? -1 : 1;
	if (one->unsafe != other->unsafe)
		return one->unsafe ? -1 : 1;
	if (one->weight != other->weight)
		return one->weight > other->weight ? -1 : 1;
	return one->order < other->order ? -1 : 1;
}

void morning_sort(struct morning *morning)
{
	qsort(morning->lines, morning->count, sizeof *morning->lines, worst_first);
}

void morning_clear(struct morning *morning)
{
	for (size_t i = 0; i < morning->count; i++) {
		free(morning->lines[i].complaint);
		free(morning->lines[i].brief);
	}
	free(morning->lines);
	free(morning->standing);
	alerts_clear(&morning->alerts);
	bands_clear(&morning->bands);
	*morning = (struct morning){ 0 };
}

bool morning_is_past(const struct morning *morning)
{
	return morning->base.window.to < morning->made - PAST;
}

double morning_known(const struct morning *morning)
{
	double known = 0;
	size_t watched = 0;

	for (size_t i = 0; i < morning->count; i++) {
		known += morning->lines[i].known;
		watched += morning->lines[i].watched;
	}
	return watched ? known / (double)watched : 0;
}
