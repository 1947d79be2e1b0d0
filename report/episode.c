/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * What lasts; see episode.h.
 */
#include "report/episode.h"

#include <math.h>

/* Back from that side, and not only to the edge. */
static bool is_back(const struct row *row, enum side side, struct range band, double deadband)
{
	return side == BELOW ? row->value >= band.low + deadband
			     : row->value <= band.high - deadband;
}

static struct episode on_side(const struct series_rows *rows, const struct ribbon *ribbon,
			      const struct rule *rule, enum side side)
{
	struct episode episode = { .side = side };
	struct in_force last = { 0 };
	double inside = 0;

	for (size_t i = rows->count; i > 0; i--) {
		const struct row *row = &rows->list[i - 1];
		double seconds = row_seconds_out(row, side);
		const struct in_force *force;

		if (!row->has_value)
			continue; /* neither good nor bad */
		if (inside > 0 && inside >= rule->off_delay)
			break;
		episode.older = false;
		force = ribbon_next(ribbon, (row->from + row->to) / 2, &last);
		if (seconds > 0) {
			if (!episode.lasts)
				episode.distance = row->out / fmax(row->low + row->high, 1);
			episode.lasts = true;
			episode.from = row->from + (row->ok - fmin(seconds, row->ok));
			episode.older = seconds >= row->ok;
			episode.seconds += seconds;
			inside = 0;
		} else if (force->has_band && is_back(row, side, force->band, rule->deadband)) {
			inside += row->ok;
		}
	}
	return episode;
}

struct episode episode_lasting(const struct series_rows *rows, const struct ribbon *ribbon,
			       const struct rule *rule)
{
	struct episode below = on_side(rows, ribbon, rule, BELOW);
	struct episode above = on_side(rows, ribbon, rule, ABOVE);

	if (below.lasts && above.lasts)
		return below.seconds > above.seconds ? below : above;
	return below.lasts ? below : above;
}
