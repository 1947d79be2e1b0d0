/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Writes a recording; see record.h.
 */
#include "contrib/roomsim/record.h"

#include "conf/words.h"

/* Tenths with one digit after the point; printf would take most of the time
 * of a long recording. */
static char *put_tenths(char *to, int tenths)
{
	char digits[12];
	int count = 0, left = tenths < 0 ? -tenths : tenths;

	if (tenths < 0)
		*to++ = '-';
	do {
		digits[count++] = (char)('0' + left % 10);
		left /= 10;
	} while (left > 0 || count < 2);
	while (count > 1)
		*to++ = digits[--count];
	*to++ = '.';
	*to++ = digits[0];
	return to;
}

static char *put_text(char *to, const char *text)
{
	while (*text)
		*to++ = *text++;
	return to;
}

static void put_row(FILE *out, const char *time, const struct probe_sim *probe,
		    const int tenths[QUANTITIES])
{
	char row[PROBE_NAME + 80], *to = put_text(row, time);

	*to++ = ',';
	to = put_text(to, probe->name);
	*to++ = ',';
	to = put_tenths(to, tenths[TEMPERATURE]);
	*to++ = ',';
	if (probe->has_humidity)
		to = put_tenths(to, tenths[HUMIDITY]);
	*to++ = '\n';
	fwrite(row, 1, (size_t)(to - row), out);
}

bool record(struct world *world, double start, double end, int every, FILE *out)
{
	char stamp[24] = "";
	double stamped = -1;

	fputs("time,probe,temperature,humidity\n", out);
	for (double round = start; round < end; round += every)
		for (size_t i = 0; i < world->probe_count; i++) {
			int offset = (int)((size_t)every * i / world->probe_count);
			double now = round + offset;
			int tenths[QUANTITIES];

			if (now >= end)
				break;
			if (now > stamped) {
				snprintf(stamp, sizeof(stamp), "%.0f", now);
				stamped = now;
			}
			world_advance(world, now);
			if (world_read(world, &world->probes[i], now, tenths) == ANSWERS)
				put_row(out, stamp, &world->probes[i], tenths);
		}
	return fflush(out) == 0 && !ferror(out);
}

static void list_misted(const struct world *world, const struct misted *misted, FILE *out)
{
	const char *between = "";

	fprintf(out,
		"\n{\"enclosure\": \"%s\", \"time\": %.0f, \"film\": %g, \"from\": %.1f, "
		"\"to\": %.1f, \"wet\": [",
		world->homes[misted->home].name, misted->time, misted->film, misted->from,
		misted->to);
	for (enum place place = 0; place < PLACES; place++) {
		if (!(misted->wet & 1u << place))
			continue;
		fprintf(out, "%s\"%s\"", between, place_word(place));
		between = ", ";
	}
	fputs("]}", out);
}

bool list_happenings(const struct world *world, double start, FILE *out)
{
	const char *between = "";

	fputs("{", out);
	events_write(&world->events, out);
	fputs(",\n\"mistings\": [", out);
	for (size_t i = 0; i < world->misted_count; i++) {
		const struct misted *misted = &world->misted[i];

		if (misted->time < start)
			continue;
		fputs(between, out);
		list_misted(world, misted, out);
		between = ",";
	}
	fputs("]}\n", out);
	return fflush(out) == 0 && !ferror(out);
}
