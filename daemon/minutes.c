/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Readings to minutes; see minutes.h.
 */
#include "daemon/minutes.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#include "conf/band.h"
#include "conf/daypart.h"
#include "conf/memory.h"

enum { FIRST_ROOM = 2 }; /* minutes: the one under way, and one not closed yet */

/* s since the epoch; far beyond it a double no longer holds fractions. */
static const double LAST_INSTANT = 1e12;

/* One series: what it is held against, and its last reading. */
struct track {
	bool judged;
	const struct rule *seasoned;            /* its band has seasons; NULL: it is always ... */
	struct range bands[CHANGEOVER + 1];     /* ... one of these, by enum daypart */
	double longest;                         /* s */
	bool has_last;
	double time, value;
};

/* What a minute has gathered of one series: s, and integrals over s. */
struct sums {
	double low, high, known;
	double area; /* of the value */
	double out;  /* of the distance outside the band */
};

struct minutes {
	struct day day;
	struct daypart_cache cache;
	size_t count;
	struct series series[MAX_SERIES];
	struct track *tracks; /* of each series */
	bool has_first;
	double first;   /* the enclosure's first reading */
	int64_t closed; /* end of the last minute handed out; 0 before any */
	/* Minutes with something in them and not yet closed, in order, from
	 * [from] to before [used]; minute i has sums[i * count ...]. */
	size_t from, used, room;
	int64_t *ends;
	struct sums *sums;
};

/* Bands, gaps and day as configured; leaves readings and minutes alone. */
static void configure(struct minutes *m, const struct conf *conf, const struct enclosure *enclosure)
{
	m->day = conf->day;
	m->cache = (struct daypart_cache){ 0 };
	for (size_t i = 0; i < m->count; i++) {
		struct track *track = &m->tracks[i];
		const struct place_conf *place = &enclosure->places[m->series[i].place];
		const struct rule *rule = &place->rules[m->series[i].quantity];

		track->judged = rule_ever_has_band(rule);
		track->seasoned = rule->season_count > 0 ? rule : NULL;
		track->longest = longest_line(conf->buses[conf->probes[place->probe].bus].every);
		if (!track->judged || track->seasoned)
			continue;
		for (enum daypart part = DAY; part <= CHANGEOVER; part++)
			track->bands[part] = band_in(rule, part);
	}
}

struct minutes *minutes_new(const struct conf *conf, const struct enclosure *enclosure)
{
	struct minutes *m = must_calloc(1, sizeof *m);

	m->count = enclosure_series(conf, enclosure, m->series);
	m->tracks = must_calloc(m->count, sizeof *m->tracks);
	configure(m, conf, enclosure);
	return m;
}

void minutes_free(struct minutes *m)
{
	if (!m)
		return;
	free(m->tracks);
	free(m->ends);
	free(m->sums);
	free(m);
}

/* Makes room for one more minute at the far end. */
static void make_room(struct minutes *m)
{
	if (m->used < m->room)
		return;
	if (m->from > m->room / 2) {
		size_t held = m->used - m->from;

		memmove(m->ends, m->ends + m->from, held * sizeof *m->ends);
		memmove(m->sums, m->sums + m->from * m->count, held * m->count * sizeof *m->sums);
		m->from = 0;
		m->used = held;
		return;
	}
	m->room = m->room ? 2 * m->room : FIRST_ROOM;
	m->ends = must_resize(m->ends, m->room, sizeof *m->ends);
	m->sums = must_resize(m->sums, m->room, m->count * sizeof *m->sums);
}

/* The first held minute that ends at or after `end`: a slow series reaches
 * back while the others are ahead, and minutes nobody knows are not held. */
static size_t find(const struct minutes *m, int64_t end)
{
	size_t low = m->from, high = m->used;

	while (low < high) {
		size_t middle = low + (high - low) / 2;

		if (m->ends[middle] < end)
			low = middle + 1;
		else
			high = middle;
	}
	return low;
}

/* The sums of the minute with that end, begun if it is not there yet. */
static struct sums *minute_at(struct minutes *m, int64_t end)
{
	if (m->used > m->from && m->ends[m->used - 1] == end)
		return &m->sums[(m->used - 1) * m->count];
	size_t at = find(m, end);

	if (at < m->used && m->ends[at] == end)
		return &m->sums[at * m->count];
	size_t ahead = m->used - at;

	make_room(m);
	at = m->used - ahead;
	memmove(m->ends + at + 1, m->ends + at, ahead * sizeof *m->ends);
	memmove(m->sums + (at + 1) * m->count, m->sums + at * m->count,
		ahead * m->count * sizeof *m->sums);
	m->used++;
	m->ends[at] = end;
	return memset(&m->sums[at * m->count], 0, m->count * sizeof *m->sums);
}

/* The span around an instant during which the band does not change. */
static struct daypart_span span_at(struct minutes *m, const struct track *track, double at)
{
	if (!track->judged)
		return (struct daypart_span){ .from = -INFINITY, .until = INFINITY };
	return cached_daypart(&m->cache, &m->day, at);
}

/* False when there is none in that span. */
static bool band_of(const struct track *track, const struct daypart_span *span, struct range *band)
{
	if (track->seasoned) {
		struct rule room;
		const struct rule *rule = rule_on(track->seasoned, span->date, &room);

		if (rule->has_band)
			*band = band_in(rule, span->part);
		return rule->has_band;
	}
	*band = track->bands[span->part];
	return track->judged;
}

static void add_piece(struct sums *sums, const struct track *track,
		      const struct daypart_span *span, double seconds, double a, double b)
{
	struct range band;

	sums->known += seconds;
	sums->area += (a + b) / 2 * seconds;
	if (!band_of(track, span, &band))
		return;
	struct share share = band_share(band, a, b, seconds);

	sums->low += share.below;
	sums->high += share.above;
	sums->out += share.out;
}

/* The line from the track's last reading to (time, value), cut at full
 * minutes and changes of the band. */
static void add_line(struct minutes *m, size_t series, double time, double value)
{
	struct track *track = &m->tracks[series];
	double slope = (value - track->value) / (time - track->time);
	double at = fmax(track->time, (double)m->closed);
	double a = track->value + slope * (at - track->time);

	while (at < time) {
		int64_t end = ((int64_t)at / ARCHIVE_STEP + 1) * ARCHIVE_STEP;
		struct daypart_span span = span_at(m, track, at);
		double until = fmin(time, fmin((double)end, span.until));
		double b = track->value + slope * (until - track->time);

		add_piece(&minute_at(m, end)[series], track, &span, until - at, a, b);
		at = until;
		a = b;
	}
}

bool minutes_take(struct minutes *m, size_t series, double time, double value)
{
	if (series >= m->count || !isfinite(value) || !(time >= 0 && time < LAST_INSTANT))
		return false;
	struct track *track = &m->tracks[series];

	if (track->has_last && time <= track->time)
		return false;
	if (!m->has_first) {
		m->has_first = true;
		m->first = time;
	}
	if (track->has_last && time - track->time <= track->longest)
		add_line(m, series, time, value);
	track->has_last = true;
	track->time = time;
	track->value = value;
	return true;
}

static void hand_out(struct minutes *m, minute_sink *sink, void *context)
{
	struct closed_minute minute = { .end = m->ends[m->from], .count = m->count };
	const struct sums *sums = &m->sums[m->from * m->count];

	for (size_t i = 0; i < m->count; i++)
		if (sums[i].known > 0)
			minute.cells[i] = (struct minute_cell){
				.value = sums[i].area / sums[i].known,
				.low = sums[i].low / ARCHIVE_STEP,
				.high = sums[i].high / ARCHIVE_STEP,
				.ok = sums[i].known / ARCHIVE_STEP,
				.out = sums[i].out / ARCHIVE_STEP,
			};
	m->closed = minute.end;
	m->from++;
	sink(context, &minute);
}

/* Before this instant nothing can be added any more. */
static double settled(const struct minutes *m, double now)
{
	double horizon = INFINITY;

	for (size_t i = 0; i < m->count; i++) {
		const struct track *track = &m->tracks[i];
		double last = track->has_last ? track->time : m->first;

		horizon = fmin(horizon, now - last > track->longest ? now : last);
	}
	return horizon;
}

void minutes_close(struct minutes *m, double now, minute_sink *sink, void *context)
{
	if (m->from == m->used || (double)m->ends[m->from] > now)
		return; /* by far the most frequent case */
	double horizon = settled(m, now);

	while (m->from < m->used && (double)m->ends[m->from] <= horizon)
		hand_out(m, sink, context);
}

void minutes_finish(struct minutes *m, minute_sink *sink, void *context)
{
	while (m->from < m->used)
		hand_out(m, sink, context);
	for (size_t i = 0; i < m->count; i++)
		m->tracks[i].has_last = false;
	m->has_first = false;
}

bool minutes_reload(struct minutes *m, const struct conf *conf, const struct enclosure *enclosure)
{
	struct series series[MAX_SERIES];
	size_t count = enclosure_series(conf, enclosure, series);

	if (count != m->count)
		return false;
	for (size_t i = 0; i < count; i++)
		if (series[i].place != m->series[i].place ||
		    series[i].quantity != m->series[i].quantity)
			return false;
	configure(m, conf, enclosure);
	return true;
}
