/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * Rows -> excursions; see excursions.h.
 */
#include "report/excursions.h"

#include <math.h>
#include <stdlib.h>

#include "conf/memory.h"

static const double TOUCH = 1e-3; /* s: closer ends than this are one */
static const double DUST = 1e-6;  /* s: less than this is rounding */

const char *side_word(enum side side)
{
	return side == BELOW ? "below" : "above";
}

double row_seconds_out(const struct row *row, enum side side)
{
	return side == BELOW ? row->low : row->high;
}

static double extreme(const struct row *row, enum side side)
{
	return side == BELOW ? row->min : row->max;
}

/* One piece of a row spent on one side. */
struct piece {
	enum side side;
	double from, seconds;
};

/* The list, and where in it the latest excursion of each side is. */
struct builder {
	struct excursions *out;
	const struct ribbon *ribbon;
	struct in_force force;
	bool has_last[SIDES];
	size_t last[SIDES];
};

/* The excursion a piece continues, or a new one. */
static struct excursion *excursion_for(struct builder *builder, struct piece piece)
{
	struct excursions *out = builder->out;

	if (builder->has_last[piece.side]) {
		struct excursion *last = &out->list[builder->last[piece.side]];

		if (fabs(last->to - piece.from) <= TOUCH)
			return last;
	}
	out->list = must_grow(out->list, out->count, sizeof *out->list);
	builder->has_last[piece.side] = true;
	builder->last[piece.side] = out->count;
	out->list[out->count] = (struct excursion){ .side = piece.side, .from = piece.from,
						    .worst = NAN };
	return &out->list[out->count++];
}

/* Beyond the limits there are then. */
static bool is_beyond(struct builder *builder, const struct row *row, enum side side)
{
	const struct in_force *then =
		ribbon_next(builder->ribbon, (row->from + row->to) / 2, &builder->force);

	return then->has_limits && (side == BELOW ? row->min < then->limits.low
						  : row->max > then->limits.high);
}

static void add_piece(struct builder *builder, const struct row *row, struct piece piece)
{
	if (piece.seconds <= DUST)
		return;

	struct excursion *open = excursion_for(builder, piece);

	open->to = piece.from + piece.seconds;
	open->degree_hours += row->out / 3600 * piece.seconds / (row->low + row->high);
	open->worst = piece.side == BELOW ? fmin(open->worst, extreme(row, BELOW))
					  : fmax(open->worst, extreme(row, ABOVE));
	open->beyond_limits |= is_beyond(builder, row, piece.side);
}

/* Whether the rows beside this one, without a gap, were out on that side. */
static bool beside(const struct series_rows *rows, size_t i, int step, enum side side)
{
	if ((step < 0 && i == 0) || (step > 0 && i + 1 == rows->count))
		return false;

	const struct row *other = &rows->list[step < 0 ? i - 1 : i + 1];
	double gap = step < 0 ? rows->list[i].from - other->to : other->from - rows->list[i].to;

	return fabs(gap) <= TOUCH && row_seconds_out(other, side) > 0;
}

/* Lays a row's seconds out: pieces at its begin, in its middle, at its end. */
static void lay_out_row(const struct series_rows *rows, size_t i, struct builder *builder)
{
	const struct row *row = &rows->list[i];
	double head = row->from, middle = 0, tail = row->to;
	double at_head[SIDES] = { 0 }, at_tail[SIDES] = { 0 }, between[SIDES] = { 0 };

	for (int side = 0; side < SIDES; side++) {
		double seconds = row_seconds_out(row, (enum side)side);
		bool before = beside(rows, i, -1, (enum side)side);
		bool after = beside(rows, i, 1, (enum side)side);

		if (before && after)
			at_head[side] = at_tail[side] = seconds / 2;
		else
			*(before ? &at_head[side] : after ? &at_tail[side] : &between[side]) = seconds;
		tail -= at_tail[side];
		middle += between[side];
	}
	for (int side = 0; side < SIDES; side++) {
		add_piece(builder, row, (struct piece){ (enum side)side, head, at_head[side] });
		head += at_head[side];
	}
	middle = (head + tail - middle) / 2;
	for (int side = 0; side < SIDES; side++) {
		add_piece(builder, row, (struct piece){ (enum side)side, middle, between[side] });
		middle += between[side];
	}
	for (int side = 0; side < SIDES; side++) {
		add_piece(builder, row, (struct piece){ (enum side)side, tail, at_tail[side] });
		tail += at_tail[side];
	}
}

void excursions_find(const struct series_rows *rows, double newest, const struct ribbon *ribbon,
		     struct excursions *out)
{
	struct builder builder = { .out = out, .ribbon = ribbon };

	*out = (struct excursions){ 0 };
	for (size_t i = 0; i < rows->count; i++)
		lay_out_row(rows, i, &builder);
	for (size_t i = 0; i < out->count; i++)
		out->list[i].lasts = out->list[i].to >= newest - TOUCH;
}

void excursions_clear(struct excursions *excursions)
{
	free(excursions->list);
	*excursions = (struct excursions){ 0 };
}
