/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * When it will be too dry; see due.h.
 */
#include "daemon/due.h"

#include <math.h>
#include <time.h>

#include "conf/air.h"

static const double SLOW = 1800, FAST = 300; /* s: what means are over */
static const double LONGEST_GAP = 2700;      /* s: what is in longer ones nobody knows */
static const double SHARP = 5;               /* %: of a misting or a door, within the bins */
static const double STEP = 600;              /* s of the forecast */
static const double STAYS = 1800;            /* s below the band that count */
static const double LEAST_REST = 3600;       /* s after a misting, and at least ... */
static const double REST_TIMES = 3;          /* ... so many time constants of the air */
static const double HOUR = 3600;             /* s */

/* ---- the air now ------------------------------------------------------------ */

static const struct due_bin empty = { { INFINITY, -INFINITY }, { INFINITY, -INFINITY } };

static double saturated(double celsius)
{
	return air_vapour_density(celsius, 100);
}

static void begin(struct due_air *air, double time, double humidity, double vapour)
{
	air->begun = true;
	air->since = air->stirred = time;
	air->rose = false;
	air->slow_celsius = air->celsius.value;
	air->slow_vapour = air->vapour = vapour;
	air->humidity = humidity;
	air->bin = floor(time / DUE_BIN);
	for (int i = 0; i < DUE_BINS; i++)
		air->bins[i] = empty;
}

static void approach(double *mean, double value, double seconds, double over)
{
	*mean += (value - *mean) * (1 - exp(-seconds / over));
}

static void widen(struct range *range, double value)
{
	range->low = fmin(range->low, value);
	range->high = fmax(range->high, value);
}

/* A misting brings both more vapour and more of what the air can hold, an open door takes
 * of both.  Warming brings the first from what is moist, cooling the second. */
static void look_for_change(struct due_air *air)
{
	double bin = floor(air->time / DUE_BIN), percent = 100 / saturated(air->slow_celsius);
	struct due_bin all = empty;

	for (; air->bin < bin; air->bin++)
		air->bins[(size_t)fmod(air->bin + 1, DUE_BINS)] = empty;
	widen(&air->bins[(size_t)fmod(bin, DUE_BINS)].humidity, air->humidity);
	widen(&air->bins[(size_t)fmod(bin, DUE_BINS)].vapour, air->vapour);
	for (int i = 0; i < DUE_BINS; i++) {
		all.humidity.low = fmin(all.humidity.low, air->bins[i].humidity.low);
		all.humidity.high = fmax(all.humidity.high, air->bins[i].humidity.high);
		all.vapour.low = fmin(all.vapour.low, air->bins[i].vapour.low);
		all.vapour.high = fmax(all.vapour.high, air->bins[i].vapour.high);
	}
	bool rose = air->humidity - all.humidity.low >= SHARP &&
		    (air->vapour - all.vapour.low) * percent >= SHARP;
	bool fell = all.humidity.high - air->humidity >= SHARP &&
		    (all.vapour.high - air->vapour) * percent >= SHARP;

	if (rose || fell)
		air->stirred = air->time;
	if (rose) {
		air->rose = true;
		air->rose_at = air->time;
	}
}

void due_take(struct due_air *air, enum quantity quantity, struct sample sample)
{
	if (quantity == TEMPERATURE) {
		air->has_celsius = true;
		air->celsius = sample;
		return;
	}
	if (!air->has_celsius || sample.time - air->celsius.time > LONGEST_GAP ||
	    (air->begun && sample.time <= air->time))
		return;
	double vapour = air_vapour_density(air->celsius.value, sample.value);

	if (!isfinite(vapour))
		return; /* a mean would never be a number again */
	if (!air->begun || sample.time - air->time > LONGEST_GAP) {
		begin(air, sample.time, sample.value, vapour);
	} else {
		double passed = sample.time - air->time;

		approach(&air->slow_celsius, air->celsius.value, passed, SLOW);
		approach(&air->slow_vapour, vapour, passed, SLOW);
		approach(&air->humidity, sample.value, passed, FAST);
		approach(&air->vapour, vapour, passed, FAST);
	}
	air->time = sample.time;
	look_for_change(air);
}

double due_humidity(const struct due_air *air)
{
	return 100 * air->slow_vapour / saturated(air->slow_celsius);
}

bool due_is_heard(const struct due_air *air, double now)
{
	return air->begun && now - air->time <= LONGEST_GAP;
}

/* What a misting left on leaves and walls is gone, and air and store are near their rest. */
static bool is_at_rest(const struct due_air *air, const struct course_law *law, double now)
{
	double rest = REST_TIMES * HOUR / (law->airing + law->exchange);

	return now - air->stirred >= fmax(LEAST_REST, rest);
}

/* ---- the air to come --------------------------------------------------------- */

/* Local wall-clock hours since midnight.  That a night of the forecast may be an hour
 * shorter or longer is left aside. */
static double local_hour(double instant)
{
	time_t second = (time_t)instant;
	struct tm tm;

	localtime_r(&second, &tm);
	return tm.tm_hour + tm.tm_min / 60.0;
}

/* The mean temperature at a time of day, on the line between the middles of two hours. */
static bool usual(const struct drying_record *record, double hour, double *celsius)
{
	double before = floor(hour - 0.5), part = hour - 0.5 - before;
	int a = ((int)before + HOURS_A_DAY) % HOURS_A_DAY, b = (a + 1) % HOURS_A_DAY;

	if (!record->has_hour[a] || !record->has_hour[b])
		return false;
	*celsius = record->celsius[a] + part * (record->celsius[b] - record->celsius[a]);
	return true;
}

/* Air and store now.  While both dry slowly, the mean lags behind the air by what it is over,
 * and the air behind what its store would keep by its time constant: in the second round
 * the speed of it is known. */
static struct course_state present(const struct course_law *law, const struct due_air *air,
				   const struct course_around *around)
{
	struct course_state state = { .vapour = air->slow_vapour };
	double exchange = law->airing + law->exchange, speed = 0;

	for (int round = 0; round < 2; round++) {
		state.vapour = air->slow_vapour + speed * SLOW / HOUR;
		state.activity = course_activity(law, state.vapour + speed / exchange, around);
		speed = law->exchange * around->saturated / exchange * law->exchange /
			law->capacity * (state.vapour - state.activity * around->saturated);
	}
	return state;
}

/* In so many s, when it is the `hour` of the day now. */
static double coming_celsius(const struct due_question *question, double hour, double seconds)
{
	double now, then;

	if (!usual(question->record, fmod(hour, HOURS_A_DAY), &now) ||
	    !usual(question->record, fmod(hour + seconds / HOUR, HOURS_A_DAY), &then))
		return question->air->slow_celsius;
	return question->air->slow_celsius + then - now;
}

struct due due_foretell(const struct due_question *question, struct daypart_cache *cache,
			double horizon)
{
	const struct due_air *air = question->air;
	const struct course_law *law = &question->record->law;
	double hour = local_hour(question->now), below = 0;
	struct course_around around = { .saturated = saturated(air->slow_celsius) };
	struct course_state state;
	struct due due = { .answer = DUE_UNTOLD };

	if (!question->room || !due_is_heard(question->room, question->now) ||
	    !due_is_heard(air, question->now) || !is_at_rest(air, law, question->now))
		return due;
	around.room = question->room->slow_vapour;
	state = present(law, air, &around);
	due.answer = DUE_LATER;
	for (double ahead = 0; ahead <= horizon + STAYS; ahead += STEP) {
		double then = question->now + ahead;
		const struct daypart_span span = cached_daypart(cache, question->day, then);
		struct rule room;
		const struct rule *rule = rule_on(question->rule, span.date, &room);
		double low = rule->has_band ? band_in(rule, span.part).low : -INFINITY;

		around.saturated = saturated(coming_celsius(question, hour, ahead));
		if (ahead > 0)
			state = course_step(law, state, &around, STEP / HOUR);
		/* What is not a number, by a law that is none, is never too dry. */
		if (!(100 * state.vapour / around.saturated < low)) {
			below = 0;
			continue;
		}
		if (below == 0) {
			due.at = then;
			due.edge = low;
		}
		below += STEP;
		if (below > STAYS) {
			due.answer = due.at <= question->now + horizon ? DUE_THEN : DUE_LATER;
			return due;
		}
	}
	return due;
}
