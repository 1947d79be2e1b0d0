/* SPDX-License-Identifier: GPL-3.0-or-later
 *
 * The page's strips, read back from their paths: how far out of which band, when,
 * and what is unknown.
 */
#include "tests/cm.h"

#include "conf/memory.h"
#include "tests/page_case.h"

/* What a column of a strip shows: how far out in hundredths, up above; NaN where that
 * part is not there. */
static double part_at(const struct drawn *drawn, enum quantity quantity, const char *part,
		      size_t column)
{
	const char *at = path_of(drawn->strips[quantity], part, 0);
	struct stroke *stroke = must_calloc(1, sizeof *stroke);
	double found = NAN, x = 2 * (double)column + 1;

	while (at && next_stroke(&at, stroke)) {
		double top, bottom;

		if (x < stroke->x[0] || x > stroke->x[stroke->count - 1])
			continue;
		assert_true(isnan(found));
		if (!stroke->closed) {
			assert_near(stroke->y[0], 0, 0);
			found = 0;
			continue;
		}
		heights_at(stroke, x, &top, &bottom);
		/* A bar stands on the base line: its last corner is back on it. */
		assert_near(stroke->y[stroke->count - 1], 0, 0);
		found = -(top < 0 ? top : bottom);
	}
	free(stroke);
	return found;
}

static void assert_part(const struct drawn *drawn, enum quantity quantity, const char *part,
			size_t column, double hundredths)
{
	double found = part_at(drawn, quantity, part, column);

	if (isnan(hundredths) ? !isnan(found) : !(fabs(found - hundredths) < 1e-9))
		fail_msg("%s in column %zu is %g, not %g", part, column, found, hundredths);
}

static void in_band_a_strip_is_a_quiet_line(void **state)
{
	struct account_case *c = *state;
	struct drawn drawn;

	draw(c, CELSIUS, &drawn);
	for (size_t column = 0; column < PAGE_COLUMNS; column++)
		assert_part(&drawn, TEMPERATURE, "quiet", column, 0);
	assert_null(path_of(drawn.strips[TEMPERATURE], "below", 0));
	assert_null(path_of(drawn.strips[TEMPERATURE], "unknown", 0));
	assert_true(drawn.strip[TEMPERATURE].night);
	assert_false(drawn.strip[TEMPERATURE].beyond || drawn.strip[TEMPERATURE].unknown);
	undraw(&drawn);
}

/* The depth is the band's edge less the reading, not the distance to any limit. */
static void depth_is_the_distance_to_the_edge(void **state)
{
	struct account_case *c = *state;
	struct drawn drawn;

	account_case_put(c, WARM_T, 100, 102, 25.75); /* 27: 1.25 */
	account_case_put(c, WARM_T, 102, 104, 26.5);
	account_case_put(c, WARM_T, 104, 106, 33.5);  /* 31: 2.5 */
	account_case_put(c, COOL_H, 600, 620, 68.5);  /* 65 by night */
	account_case_put(c, COOL_H, 620, 640, 44.9);
	draw(c, CELSIUS, &drawn);
	assert_part(&drawn, TEMPERATURE, "below", 49, NAN);
	assert_part(&drawn, TEMPERATURE, "below", 50, -125);
	assert_part(&drawn, TEMPERATURE, "below", 51, -50);
	assert_part(&drawn, TEMPERATURE, "below", 52, NAN);
	assert_part(&drawn, TEMPERATURE, "above", 51, NAN);
	assert_part(&drawn, TEMPERATURE, "above", 52, 250);
	assert_part(&drawn, TEMPERATURE, "above", 53, NAN);
	assert_part(&drawn, HUMIDITY, "above", 300, 350);
	assert_part(&drawn, HUMIDITY, "above", 309, 350);
	assert_part(&drawn, HUMIDITY, "below", 310, -10);
	undraw(&drawn);
	draw(c, FAHRENHEIT, &drawn);
	assert_part(&drawn, TEMPERATURE, "below", 50, -225);
	assert_part(&drawn, TEMPERATURE, "above", 52, 450);
	assert_part(&drawn, HUMIDITY, "above", 300, 350);
	undraw(&drawn);
}

static void of_two_places_the_deeper(void **state)
{
	struct account_case *c = *state;
	struct place_conf *places = c->tiny.enclosures[0].places;
	struct drawn drawn;

	places[COOL_SIDE].rules[TEMPERATURE] = places[WARM_SIDE].rules[TEMPERATURE];
	account_case_put(c, COOL_T, 0, 1440, 28);
	account_case_put(c, WARM_T, 100, 120, 26);
	account_case_put(c, COOL_T, 110, 130, 24);
	account_case_put(c, WARM_T, 120, 130, 32);
	draw(c, CELSIUS, &drawn);
	assert_part(&drawn, TEMPERATURE, "below", 50, -100);
	assert_part(&drawn, TEMPERATURE, "below", 57, -300);
	assert_part(&drawn, TEMPERATURE, "below", 62, -300);
	assert_part(&drawn, TEMPERATURE, "above", 62, 100);
	/* Unknown where any place is: it must not look calm. */
	account_case_put(c, WARM_T, 200, 300, NAN);
	account_case_put(c, COOL_T, 250, 350, NAN);
	undraw(&drawn);
	draw(c, CELSIUS, &drawn);
	assert_part(&drawn, TEMPERATURE, "unknown", 99, NAN);
	assert_part(&drawn, TEMPERATURE, "unknown", 100, 0);
	assert_part(&drawn, TEMPERATURE, "unknown", 174, 0);
	assert_part(&drawn, TEMPERATURE, "unknown", 175, NAN);
	assert_part(&drawn, TEMPERATURE, "quiet", 99, 0);
	assert_part(&drawn, TEMPERATURE, "quiet", 100, NAN);
	assert_part(&drawn, TEMPERATURE, "quiet", 175, 0);
	assert_true(drawn.strip[TEMPERATURE].unknown);
	undraw(&drawn);
}

static void beyond_the_limits_is_a_part_of_its_own(void **state)
{
	struct account_case *c = *state;
	struct drawn drawn;

	account_case_put(c, WARM_T, 100, 110, 36);    /* the very limit */
	account_case_put(c, WARM_T, 110, 120, 36.5);
	account_case_put(c, WARM_T, 200, 210, 14.5);
	draw(c, CELSIUS, &drawn);
	assert_part(&drawn, TEMPERATURE, "above", 54, 500);
	assert_part(&drawn, TEMPERATURE, "above", 55, NAN);
	assert_part(&drawn, TEMPERATURE, "above beyond", 54, NAN);
	assert_part(&drawn, TEMPERATURE, "above beyond", 55, 550);
	assert_part(&drawn, TEMPERATURE, "above beyond", 59, 550);
	assert_part(&drawn, TEMPERATURE, "above beyond", 60, NAN);
	assert_part(&drawn, TEMPERATURE, "below beyond", 100, -1250);
	assert_null(path_of(drawn.strips[TEMPERATURE], "below", 0));
	assert_true(drawn.strip[TEMPERATURE].beyond);
	undraw(&drawn);
}

static void without_a_band_there_is_no_strip(void **state)
{
	struct account_case *c = *state;
	struct drawn drawn;

	c->tiny.enclosures[0].places[WARM_SIDE].rules[TEMPERATURE].has_band = false;
	draw(c, CELSIUS, &drawn);
	assert_false(drawn.judged[TEMPERATURE]);
	assert_true(drawn.judged[HUMIDITY]);
	undraw(&drawn);
}

int main(void)
{
	const struct CMUnitTest tests[] = {
#define WITH_CASE(test) cmocka_unit_test_setup_teardown(test, account_case_begin, account_case_end)
		WITH_CASE(in_band_a_strip_is_a_quiet_line),
		WITH_CASE(depth_is_the_distance_to_the_edge),
		WITH_CASE(of_two_places_the_deeper),
		WITH_CASE(beyond_the_limits_is_a_part_of_its_own),
		WITH_CASE(without_a_band_there_is_no_strip),
	};

	return cmocka_run_group_tests(tests, NULL, NULL);
}
